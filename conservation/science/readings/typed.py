"""Readings that were typed, or handed over as rows of time, temperature and humidity."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np

from conservation.science.problem import InputError
from conservation.science.readings.clock import EARLIEST_S, LATEST_S, zone_of
from conservation.science.readings.model import Choices, Readings, Series
from conservation.science.readings.quality import COUNTS_AS_FULL_PCT, HIGHEST_C, LOWEST_C, to_celsius
from conservation.science.readings.reader import NO_TIME_OF_A_READING, put_in_order, refuse_unset_clock, utc_of

_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - the clock's own time, whatever its zone
Row = tuple[str, float | None, float | None]


def from_rows(rows: Sequence[Row], choices: Choices | None = None) -> Readings:
    """Check rows of time (ISO 8601), temperature [°C, or the chosen unit] and humidity [%].

    Parameters
    ----------
    rows : time, temperature and humidity each; the latter two may be missing, which refuses the row
    choices : unit and time zone

    Returns
    -------
    Readings with at most one series; `line` of a refused row is its place counted from 1

    Raises
    ------
    InputError
        A time is not ISO 8601.
    ValueError
        The chosen time zone is unknown.
    """
    choices = choices or Choices()
    result = Readings(unit=choices.unit or "C")
    seconds: list[int] = []
    named: list[bool] = []
    kept: list[tuple[float, float, int]] = []
    for place, (text, temperature, humidity) in enumerate(rows):
        moment, has_zone = _moment(text, place)
        why = _why_not(temperature, humidity, choices)
        if not EARLIEST_S <= moment < LATEST_S:
            why = NO_TIME_OF_A_READING
        if why or temperature is None or humidity is None:
            result.refuse(place + 1, why)
            continue
        seconds.append(moment)
        named.append(has_zone)
        kept.append((_celsius(temperature, choices), humidity, place + 1))
    if not kept:
        return result
    numbers = np.array(kept, dtype=np.float64)
    over = numbers[:, 1] > 100
    if over.any():
        result.note(f"Humidity a little over 100 % was taken as 100 % in {int(over.sum())} of the rows.")
        numbers[over, 1] = 100
    local, named_utc, lines = np.array(seconds, dtype=np.int64), np.array(named), numbers[:, 2].astype(np.int64)
    keep = refuse_unset_clock(local, lines, np.ones(len(local), dtype=bool), result)
    local, named_utc, lines, numbers = local[keep], named_utc[keep], lines[keep], numbers[keep]
    zone = None if choices.tz is None else zone_of(choices.tz)
    times, result.aware = utc_of(local, named_utc, numbers[:, :2], zone, result)
    series = put_in_order(Series("", times, numbers[:, 0], numbers[:, 1], lines), result.aware, result)
    result.series = [series] if len(series) else []
    return result


def _celsius(temperature: float, choices: Choices) -> float:
    return to_celsius(temperature) if choices.unit == "F" else temperature


def _moment(text: str, place: int) -> tuple[int, bool]:
    """Return epoch seconds and whether the text named its offset from UTC."""
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        raise InputError(f"readings[{place}][0]", text, "a date and time as ISO 8601 writes it is accepted") from None
    if moment.tzinfo is not None:
        return round((moment - _EPOCH.replace(tzinfo=UTC)).total_seconds()), True
    return round((moment - _EPOCH).total_seconds()), False


def _why_not(temperature: float | None, humidity: float | None, choices: Choices) -> str:
    missing = [name for name, value in (("temperature", temperature), ("humidity", humidity)) if value is None]
    if temperature is None or humidity is None:
        return f"no {' and no '.join(missing)}"
    celsius = _celsius(temperature, choices)
    if not LOWEST_C <= celsius <= HIGHEST_C:
        return f"temperature {celsius:g} °C is outside {LOWEST_C:g} to {HIGHEST_C:g} °C"
    if not 0 <= humidity <= COUNTS_AS_FULL_PCT:
        return f"humidity {humidity:g} % is outside 0 to 100 %"
    return ""
