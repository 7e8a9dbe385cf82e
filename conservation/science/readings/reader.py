"""Reads a logger's file from end to end, or shows first what it was understood to be."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from conservation.science.readings.cells import UTC_MARK, number_of
from conservation.science.readings.clock import (
    DAY_S,
    EARLIEST_S,
    LATEST_S,
    naive,
    repeated_hour,
    reset_rows,
    to_utc,
    zone_of,
)
from conservation.science.readings.dates import NO_DATE, DateOrder, order_dates
from conservation.science.readings.gather import Block, Gatherer
from conservation.science.readings.layout import Layout, cells_of, find_layout
from conservation.science.readings.long_form import blocks_of
from conservation.science.readings.model import (
    Choices,
    Preview,
    Question,
    Readings,
    SampleRow,
    Series,
    Stopped,
)
from conservation.science.readings.quality import (
    COUNTS_AS_FULL_PCT,
    HIGHEST_C,
    LOWEST_C,
    Columns,
    error_values,
    oddities,
    understand,
)
from conservation.science.readings.text import TextFile, line_groups, look

Array = NDArray[np.float64]
Times = NDArray[np.int64]
Mask = NDArray[np.bool_]
_SAMPLE_ROWS = 8
NO_TIME_OF_A_READING = "the year is before 1900 or after 2199, which is no time of a reading"


def read(
    path: Path | str,
    choices: Choices | None = None,
    progress: Callable[[float], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
) -> Readings:
    """Read a file of temperatures and humidities.

    Parameters
    ----------
    path : the file
    choices : what the keeper has settled
    progress : called with the share read so far [0…1], some times a second
    should_stop : asked between groups of rows; true ends the reading

    Returns
    -------
    Readings; without series while a question blocks

    Raises
    ------
    NotReadings
        The file holds no readings, and why.
    Stopped
        `should_stop` said so.
    OSError
        The file cannot be read.
    ValueError
        The chosen time zone is unknown.
    """
    choices = choices or Choices()
    text = look(Path(path))
    layout = find_layout(text.first_lines, choices.columns)
    return _finish(_gather(text, layout, progress, should_stop), layout, choices)


def preview(
    path: Path | str, choices: Choices | None = None, progress: Callable[[float], None] | None = None
) -> Preview:
    """Read a file and say what it was understood to be; nothing is kept.

    Parameters
    ----------
    path : the file
    choices : what the keeper has settled so far
    progress : called with the share read so far [0…1], some times a second

    Returns
    -------
    Preview, with the readings themselves, their questions and refused rows

    Raises
    ------
    NotReadings
        The file holds no readings, and why.
    OSError
        The file cannot be read.
    """
    choices = choices or Choices()
    text = look(Path(path))
    layout = find_layout(text.first_lines, choices.columns)
    readings = _finish(_gather(text, layout, progress, None), layout, choices)
    rows = [
        SampleRow(number, tuple(cells_of(line, layout.delimiter)))
        for number, line in enumerate(text.first_lines, 1)
        if number > layout.first_row and line.strip()
    ][:_SAMPLE_ROWS]
    comma = any("," in cell and number_of(cell) is not None for row in rows for cell in row.cells)
    return Preview(text.encoding, layout.delimiter, comma, layout.columns, layout.time_kind, tuple(rows), readings)


def _gather(
    text: TextFile,
    layout: Layout,
    progress: Callable[[float], None] | None,
    should_stop: Callable[[], bool] | None,
) -> Gatherer:
    gatherer = Gatherer(layout)
    line = 1
    for lines, share in line_groups(text):
        if should_stop is not None and should_stop():
            raise Stopped
        if line + len(lines) > layout.first_row:
            skip = max(0, layout.first_row + 1 - line)
            gatherer.take(lines[skip:], line + skip)
        line += len(lines)
        if progress is not None:
            progress(share)
    return gatherer


def _finish(gatherer: Gatherer, layout: Layout, choices: Choices) -> Readings:
    result = gatherer.result
    order = order_dates(gatherer.dates.parts, choices.day_first, layout.day_first)
    result.day_first = order.day_first
    for extra in (order.note, _about(gatherer)):
        if extra:
            result.notes.append(extra)
    if order.question:
        result.ask(order.question)
    if choices.tz is not None:
        zone_of(choices.tz)  # an unknown zone is said even where no row is left
    blocks = gatherer.blocks
    if gatherer.long_blocks:
        blocks = blocks_of(gatherer.long_blocks, order.days, result, gatherer.layout)
    for sensor, parts in sorted(blocks.items()):
        series = _series(sensor, parts, order, layout, choices, result)
        if len(series):
            result.series.append(series)
    result.refused.sort(key=lambda row: row.line)
    if result.blocked:
        result.series = []
    elif not result.series:
        result.notes.append("No row could be used.")
    return result


def _about(gatherer: Gatherer) -> str | None:
    about = sum(cells.about for cells in gatherer.numbers.values())
    return "Some numbers were written as “about” or as a range; the middle was taken." if about else None


def utc_of(
    local_s: Times, named_utc: Mask, values: Array, zone: ZoneInfo | None, result: Readings
) -> tuple[Times, bool]:
    """Return UTC seconds and True; where no zone is known, the clock's own time as it stands and False.

    `named_utc` marks times that named their offset and are in UTC already.
    """
    if named_utc.all():
        return local_s, True
    if zone is None:
        if named_utc.any():
            result.note("Some times name their offset from UTC and others do not; name the time zone.")
        return local_s, False
    utc = to_utc(local_s[~named_utc], values[~named_utc], zone)
    if utc.second_pass:
        result.note(
            f"{utc.second_pass} readings lie in an autumn hour that came twice and were taken as its second time, "
            f"{utc.first_pass} as its first, by their order in the file."
        )
    elif utc.first_pass:
        result.note(f"{utc.first_pass} readings in an autumn hour that came twice were taken as its first time.")
    if utc.all_winter:
        result.note(
            "This clock shows the spring hour that others leave out, so it does not follow summer time; "
            "its times were read as winter time throughout."
        )
    elif utc.never_was:
        result.note(
            f"{utc.never_was} readings lie in a spring hour that clocks left out; "
            "perhaps this logger does not follow summer time."
        )
    times = local_s.copy()
    times[~named_utc] = utc.times_s
    return times, True


def _series(
    sensor: str, parts: list[Block], order: DateOrder, layout: Layout, choices: Choices, result: Readings
) -> Series:
    dates = np.concatenate([part.dates for part in parts])
    seconds = np.concatenate([part.clock for part in parts])
    lines = np.concatenate([part.lines for part in parts])
    dew = None
    if all(part.dew is not None for part in parts):
        dew = np.concatenate([part.dew for part in parts if part.dew is not None])
    columns = Columns(
        np.concatenate([part.temperature for part in parts]),
        np.concatenate([part.humidity for part in parts]),
        dew,
        np.concatenate([np.full(len(part.lines), part.unit, dtype=np.int8) for part in parts]),
    )
    understood = understand(columns, choices.unit)
    result.unit = understood.unit
    for question in understood.questions:
        result.ask(question)
    for note in understood.notes:
        result.note(note)
    named_utc = seconds >= UTC_MARK / 2 if len(order.days) else np.zeros(len(seconds), dtype=bool)
    days = order.days[dates] if len(order.days) else np.zeros(len(dates), dtype=np.int64)
    no_date = (days == NO_DATE) & (dates >= 0)
    for place in np.flatnonzero(no_date).tolist():
        result.refuse(int(lines[place]), "there is no such day")
    days = np.where((dates < 0) | no_date, 0, days)
    local = days * DAY_S + np.round(np.where(named_utc, seconds - UTC_MARK, seconds)).astype(np.int64)
    temperature, humidity = understood.temperature_c, understood.humidity_pct
    keep = ~no_date & (local >= EARLIEST_S) & (local < LATEST_S)
    for place in np.flatnonzero(~keep & ~no_date).tolist():
        result.refuse(int(lines[place]), NO_TIME_OF_A_READING)
    if not result.blocked:
        keep &= _believable(temperature, humidity, lines, keep, result)
        keep = refuse_unset_clock(local, lines, keep, result)
    humidity = np.where((humidity > 100) & keep, 100.0, humidity)
    local, temperature, humidity, lines, named_utc = (
        column[keep] for column in (local, temperature, humidity, lines, named_utc)
    )
    if layout.offset_s is not None:
        local = np.where(named_utc, local, local - layout.offset_s)
    if layout.offset_s is not None or layout.time_kind in ("epoch", "epoch-ms"):
        named_utc = np.ones(len(local), dtype=bool)
    zone = None if choices.tz is None else zone_of(choices.tz)
    times, aware = utc_of(local, named_utc, np.column_stack([temperature, humidity]), zone, result)
    result.aware = result.aware or aware
    return put_in_order(Series(sensor, times, temperature, humidity, lines), aware, result)


def _believable(temperature: Array, humidity: Array, lines: Times, keep: Mask, result: Readings) -> Mask:
    """Return which rows lie in the range of a reading; the others are refused with the reason."""
    cold_or_hot = (temperature < LOWEST_C) | (temperature > HIGHEST_C)
    impossible = (humidity < 0) | (humidity > COUNTS_AS_FULL_PCT)
    broken = error_values(temperature) & ~cold_or_hot & ~impossible
    for place in np.flatnonzero((cold_or_hot | impossible | broken) & keep):
        line, warmth, damp = int(lines[place]), temperature[place], humidity[place]
        if cold_or_hot[place]:
            result.refuse(line, f"temperature {warmth:g} °C is outside {LOWEST_C:g} to {HIGHEST_C:g} °C")
        elif impossible[place]:
            result.refuse(line, f"humidity {damp:g} % is outside 0 to 100 %")
        else:
            result.refuse(line, f"{warmth:g} °C far from every other reading is what a broken sensor says")
    over = (humidity > 100) & ~impossible & ~cold_or_hot & ~broken & keep
    if over.any():
        result.note(f"Humidity a little over 100 % was taken as 100 % in {int(over.sum())} of the rows.")
    return ~(cold_or_hot | impossible | broken)


def refuse_unset_clock(local: Times, lines: Times, keep: Mask, result: Readings) -> Mask:
    """Return which of the rows to keep were not written by a clock that had fallen back to its first day."""
    places = np.flatnonzero(keep)
    unset = places[reset_rows(local[places])]
    for place in unset.tolist():
        when = naive(int(local[place]))
        result.refuse(int(lines[place]), f"the logger’s clock was reset: {when:%Y-%m-%d %H:%M} cannot be right")
    kept = keep.copy()
    kept[unset] = False
    return kept


def put_in_order(series: Series, aware: bool, result: Readings) -> Series:
    """Sort by time and merge copies; of two different readings at one time the first one written stands."""
    times = series.times_s
    if len(times) < 2:
        return series
    if not (np.diff(times) > 0).all():
        order = np.argsort(times, kind="stable")
        series = Series(series.sensor, *(column[order] for column in _columns(series)))  # type: ignore[arg-type]
        times = series.times_s
        at_one_time = np.concatenate([[False], np.diff(times) == 0])
        copies = np.zeros(len(times), dtype=bool)
        others: list[int] = []
        groups = np.cumsum(~at_one_time)
        seen: dict[int, list[tuple[float, float]]] = {}
        for place in np.flatnonzero(at_one_time).tolist():
            first = int(np.searchsorted(groups, groups[place]))
            known = seen.setdefault(first, [_pair(series, first)])
            values = _pair(series, place)
            if values in known:
                copies[place] = True
            else:
                known.append(values)
                others.append(place)
        twice = repeated_hour(times) if not aware else np.zeros(len(times), dtype=bool)
        keep = ~copies
        for place in others:
            if twice[place]:
                continue
            keep[place] = False
            first = int(np.searchsorted(groups, groups[place]))
            result.refuse(int(series.lines[place]), f"another reading of the same time as line {series.lines[first]}")
        if any(twice[place] for place in others):
            _ask_about_summer_time(times, others, twice, result)
        result.doubles_merged += int(copies.sum())
        if copies.any():
            result.note("Rows that were there twice count once.")
        series = Series(series.sensor, *(column[keep] for column in _columns(series)))  # type: ignore[arg-type]
    for said in oddities(series.times_s, series.temperature_c, series.relative_humidity_pct):
        result.note(said)
    return series


def _columns(series: Series) -> tuple[Times | Array, ...]:
    return series.times_s, series.temperature_c, series.relative_humidity_pct, series.lines


def _pair(series: Series, place: int) -> tuple[float, float]:
    return float(series.temperature_c[place]), float(series.relative_humidity_pct[place])


def _ask_about_summer_time(times: Times, others: list[int], twice: Mask, result: Readings) -> None:
    when = naive(int(times[next(place for place in others if twice[place])]))
    text = (
        f"{when:%Y-%m-%d %H:%M} is there twice with different readings, as when clocks go back in autumn. "
        "Both were kept. Name the time zone to put them in order."
    )
    result.ask(Question("summer-time", text, "tz", blocking=False))
