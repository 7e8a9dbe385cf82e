"""How a file is laid out: delimiter, head, which column holds what, and how its times are written."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from conservation.science.readings.cells import number_of, seconds_of_day, split_stamp
from conservation.science.readings.model import Column, NotReadings, Role, Unit
from conservation.science.readings.words import (
    column_of,
    day_first_of,
    is_head,
    quantity_of,
    unit_of,
    utc_offset_s,
)

TimeKind = Literal["stamp", "split", "epoch", "epoch-ms", "serial"]
DELIMITERS = (";", "\t", ",", "|")
_EPOCH = re.compile(r"[1-4]\d{9}(?:\.\d+)?|9\d{8}")
_EPOCH_MS = re.compile(r"[1-4]\d{12}")
_SERIAL = re.compile(r"[2-7]\d{4}(?:[.,]\d+)?")
_DATA_ROWS_LOOKED_AT = 60


@dataclass(frozen=True, slots=True)
class Pair:
    """The columns of one sensor."""

    sensor: str
    temperature: int
    humidity: int
    dew: int | None = None


@dataclass(frozen=True, slots=True)
class Layout:
    """Where everything stands in a row."""

    delimiter: str
    columns: tuple[Column, ...]
    time_kind: TimeKind
    time_column: int  # of the date where date and time of day are split
    clock_column: int | None
    pairs: tuple[Pair, ...]
    channel_column: int | None  # long form: one value a row, named by its channel
    value_column: int | None
    sensor_column: int | None
    first_row: int  # index of the first line with readings
    offset_s: int | None  # seconds east of Greenwich, where the head says so
    day_first: bool | None  # where the head says so

    @property
    def width(self) -> int:
        """How many cells a row has."""
        return len(self.columns)

    @property
    def is_long(self) -> bool:
        """Whether every row holds one value only."""
        return self.value_column is not None


def cells_of(line: str, delimiter: str) -> list[str]:
    """Split one line into its cells, quotes taken off."""
    if '"' not in line:
        return line.rstrip("\r\n").split(delimiter)
    try:
        return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:
        return line.rstrip("\r\n").replace('"', "").split(delimiter)


def find_layout(lines: Sequence[str], chosen: Mapping[int, Role] | None = None) -> Layout:
    """Find out how a file's first lines are laid out.

    Parameters
    ----------
    lines : the first lines, without their ends
    chosen : roles the keeper has given to columns, by column counted from 0

    Raises
    ------
    NotReadings
        No row has a time, a temperature and a humidity; the sentence says which was missed.
    """
    told = re.fullmatch(r"sep=(.)", lines[0].strip().lstrip("\ufeff")) if lines else None
    candidates = (told[1],) if told else DELIMITERS
    best: tuple[int, str, list[tuple[int, list[str]]]] = (0, ",", [])
    for delimiter in candidates:
        rows = _rows_with_time(lines, delimiter)
        if len(rows) > best[0]:
            best = (len(rows), delimiter, rows)
    _, delimiter, rows = best
    if not rows:
        raise NotReadings(_why_none(lines))
    first_row = rows[0][0]
    if delimiter == "," and _commas_twice(lines[:first_row], [cells for _, cells in rows]):
        raise NotReadings(
            "Commas part the columns and stand in the numbers too, so the numbers cannot be told apart. "
            "Export the file with semicolons, or with decimal points."
        )
    head, first_row = _head(lines[:first_row], delimiter, len(rows[0][1]))
    layout = _layout(delimiter, head, first_row, [cells for _, cells in rows[:_DATA_ROWS_LOOKED_AT]], chosen or {})
    return _with_preamble(layout, lines[: rows[0][0]])


def layout_of_head(cells: list[str], before: Layout) -> Layout | None:
    """Return the layout that a repeated head gives, or None when it changes nothing or cannot be followed."""
    columns = tuple(column_of(cell) for cell in cells)
    if len(columns) != before.width or columns == before.columns:
        return None
    pairs = _pairs(columns)
    if not pairs or before.is_long:
        return None
    return replace(before, columns=columns, pairs=pairs)


def time_kind_of(cell: str) -> TimeKind | None:
    """Return how a single cell writes a moment or a date, None when it does not."""
    cell = cell.strip()
    if not cell or not any(letter.isdigit() for letter in cell):
        return None
    if _EPOCH.fullmatch(cell):
        return "epoch"
    if _EPOCH_MS.fullmatch(cell):
        return "epoch-ms"
    if split_stamp(cell):
        return "stamp"
    return "serial" if _SERIAL.fullmatch(cell) else None


def _rows_with_time(lines: Sequence[str], delimiter: str) -> list[tuple[int, list[str]]]:
    """Return the rows of the commonest width that hold a moment and at least one number besides."""
    found: list[tuple[int, list[str]]] = []
    for number, line in enumerate(lines):
        if delimiter not in line:
            continue
        cells = cells_of(line, delimiter)
        moments = [time_kind_of(cell) for cell in cells]
        if not any(moments):
            continue
        # A serial day is an ordinary number too, so it counts as a moment only beside two other numbers.
        numbers = sum(1 for cell in cells if number_of(cell))
        needed = 1 if any(kind in ("stamp", "epoch", "epoch-ms") for kind in moments) else 3
        if numbers >= needed:
            found.append((number, cells))
    if not found:
        return []
    width = Counter(len(cells) for _, cells in found).most_common(1)[0][0]
    return [(number, cells) for number, cells in found if len(cells) == width]


def _with_preamble(layout: Layout, before: Sequence[str]) -> Layout:
    """Add what lines above the head say of the unit ("Unit: °F") and of the clock ("Time zone: UTC+01:00")."""
    units = {unit for line in before if (unit := unit_of(line.rstrip("\r\n ;,\t")))}
    if len(units) == 1 and not any(column.unit for column in layout.columns):
        (unit,) = units
        columns = tuple(replace(c, unit=unit) if c.role == "temperature" else c for c in layout.columns)
        layout = replace(layout, columns=columns)
    zones = [offset for line in before if "zon" in line.lower() and (offset := utc_offset_s(line)) is not None]
    if zones and layout.offset_s is None:
        layout = replace(layout, offset_s=zones[-1])
    return layout


def _commas_twice(before: Sequence[str], rows: list[list[str]]) -> bool:
    """Return whether decimal commas were taken for delimiters, so that a number fills two cells."""
    width = len(rows[0])
    heads = [cells for line in before if is_head(cells := cells_of(line, ","))]
    if heads:
        return width - len(heads[-1]) >= 2
    tails = [row[-4:] for row in rows]
    whole = all(cell.strip().lstrip("-").isdigit() for tail in tails for cell in tail)
    return width == 5 and whole and all(len(tail[1].strip()) == 1 == len(tail[3].strip()) for tail in tails)


def _why_none(lines: Sequence[str]) -> str:
    if not any(line.strip() for line in lines):
        return "The file holds nothing but blanks."
    if any(is_head(cells_of(line, mark)) for line in lines for mark in DELIMITERS if mark in line):
        return "The file has a row of heads, but no rows with a time, a temperature and a humidity."
    return "No rows with a time, a temperature and a humidity were found; this does not look like a logger’s file."


def _head(before: Sequence[str], delimiter: str, width: int) -> tuple[list[str], int]:
    """Return the heads, and the index of the first line below them that could be a reading.

    The nearest row of heads above the first whole row counts; a row of units right below it belongs to it. What
    stands between it and that row is looked at as readings are, so that nothing is passed over in silence.
    """
    for number in range(len(before) - 1, -1, -1):
        cells = cells_of(before[number], delimiter)
        if abs(len(cells) - width) > 1 or not is_head(cells):
            continue
        heads = (cells + [""] * width)[:width]
        below = cells_of(before[number + 1], delimiter) if number + 1 < len(before) else []
        if len(below) > 1 and _are_units(below):
            units = (below + [""] * width)[:width]
            heads = [f"{head.strip()} {unit.strip()}".strip() for head, unit in zip(heads, units, strict=True)]
            return heads, number + 2
        return heads, number + 1
    return [""] * width, len(before)


def _are_units(cells: list[str]) -> bool:
    return any(unit_of(cell) or "%" in cell for cell in cells) and not any(number_of(cell) for cell in cells)


def _layout(
    delimiter: str, head: list[str], first_row: int, rows: list[list[str]], chosen: Mapping[int, Role]
) -> Layout:
    columns = [column_of(cell) for cell in head]
    for place, role in chosen.items():
        if 0 <= place < len(columns):
            columns[place] = replace(columns[place], role=role)
    time_kind, time_column, clock_column = _times(columns, rows)
    taken = {time_column, clock_column}
    channel, value = _long_form(columns, rows, taken)
    if value is None:
        _fill_in(columns, rows, taken, fixed=set(chosen))
    pairs = () if value is not None else _pairs(tuple(columns))
    if value is None and not pairs:
        roles = {column.role for column in columns}
        missed = " and ".join(name for name in ("temperature", "humidity") if name not in roles)
        raise NotReadings(f"No column of {missed or 'temperature with humidity'} was found.")
    sensor = next(
        (place for place, column in enumerate(columns) if column.role == "sensor" and place not in taken), None
    )
    time_heads = " ".join(head[place] for place in taken if place is not None)
    return Layout(
        delimiter,
        tuple(columns),
        time_kind,
        time_column,
        clock_column,
        pairs,
        channel,
        value,
        sensor,
        first_row,
        utc_offset_s(time_heads),
        day_first_of(time_heads),
    )


def _share(rows: list[list[str]], place: int, test: Callable[[str], object]) -> float:
    return sum(1 for row in rows if test(row[place])) / len(rows)


def _times(columns: list[Column], rows: list[list[str]]) -> tuple[TimeKind, int, int | None]:
    """Return how times are written and in which column or columns; their roles are set."""
    kinds: dict[int, TimeKind] = {}
    for place in range(len(columns)):
        seen = Counter(time_kind_of(row[place]) for row in rows)
        kind, count = seen.most_common(1)[0]
        if kind is not None and count > len(rows) / 2:
            kinds[place] = kind
    named = [place for place, column in enumerate(columns) if column.role in ("stamp", "date", "clock")]
    places = [place for place in named if place in kinds]
    places += [place for place, kind in kinds.items() if kind != "serial" and place not in named]
    # A serial day without a head must stand first, or any number of five digits would do.
    places += [place for place, kind in kinds.items() if kind == "serial" and place == 0 and place not in named]
    if not places:
        raise NotReadings("No column of times was found.")
    time_column = places[0]
    kind = kinds[time_column]
    clock_column = None
    if kind == "stamp":
        clock_column = _clock_column(columns, rows, time_column)
    columns[time_column] = replace(columns[time_column], role="stamp" if clock_column is None else "date")
    if clock_column is None:
        return kind, time_column, None
    columns[clock_column] = replace(columns[clock_column], role="clock")
    return "split", time_column, clock_column


def _clock_column(columns: list[Column], rows: list[list[str]], date_column: int) -> int | None:
    """Return the column of times of day, where the date column holds none of its own."""
    cells = [split_stamp(row[date_column]) for row in rows]
    if not all(cell is None or seconds_of_day(cell[1]) == 0 for cell in cells):
        return None
    for place, column in enumerate(columns):
        if place == date_column:
            continue
        marked = column.role in ("clock", "stamp") or _share(rows, place, lambda cell: ":" in cell) > 0.5
        if marked and _share(rows, place, lambda cell: seconds_of_day(cell) == seconds_of_day(cell)) > 0.5:
            return place
    return None


def _long_form(columns: list[Column], rows: list[list[str]], taken: set[int | None]) -> tuple[int | None, int | None]:
    """Return the channel's and the value's column where every row holds one value, else two Nones."""
    free = [place for place in range(len(columns)) if place not in taken]
    roles = {columns[place].role for place in free}
    if {"temperature", "humidity"} <= roles:
        return None, None
    for place in free:
        names = {row[place].strip() for row in rows}
        measured = {found[0] for name in names if (found := quantity_of(name))}
        by_head = columns[place].role == "channel" and bool(measured)
        if not (by_head or {"temperature", "humidity"} <= measured) or any(number_of(name) for name in names):
            continue
        values = [other for other in free if other != place and _share(rows, other, number_of) > 0.5]
        values.sort(key=lambda other: columns[other].role != "value")
        if values:
            columns[place] = replace(columns[place], role="channel")
            unit = columns[values[0]].unit or _unit_beside(rows, place, [each for each in free if each not in values])
            columns[values[0]] = replace(columns[values[0]], role="value", unit=unit)
            return place, values[0]
    return None, None


def _unit_beside(rows: list[list[str]], channel: int, others: list[int]) -> Unit | None:
    """Return the one unit of temperature that stands beside the values of temperature in a column of its own."""
    warm = [row for row in rows if (found := quantity_of(row[channel])) and found[0] == "temperature"]
    units = {unit for row in warm for place in others if (unit := unit_of(row[place]))}
    return units.pop() if len(units) == 1 else None


def _fill_in(columns: list[Column], rows: list[list[str]], taken: set[int | None], fixed: set[int]) -> None:
    """Give columns without a telling head the role their cells suggest; the first free number is the temperature."""
    for place in range(len(columns)):
        if place in taken and place not in fixed and columns[place].role in ("temperature", "humidity"):
            columns[place] = replace(columns[place], role="other")
    numeric = [
        place
        for place, column in enumerate(columns)
        if place not in taken
        and place not in fixed
        and column.role in ("other", "value")
        and not column.head
        and _share(rows, place, number_of) > 0.5
        and not _is_counter(rows, place)
    ]
    for place in list(numeric):
        texts = [row[place] for row in rows]
        if any(unit_of(text) for text in texts):
            columns[place] = replace(columns[place], role="temperature")
            numeric.remove(place)
        elif any("%" in text or "rh" in text.lower() for text in texts):
            columns[place] = replace(columns[place], role="humidity")
            numeric.remove(place)
    for role in ("temperature", "humidity", "dew"):
        if numeric and not any(column.role == role for column in columns):
            place = numeric.pop(0)
            columns[place] = replace(columns[place], role=role)


def _is_counter(rows: list[list[str]], place: int) -> bool:
    """Return whether a column only counts the rows (1, 2, 3 or 1.204, 1.205 with thousands dots)."""
    digits = [re.sub(r"[.,\s]", "", row[place]) for row in rows]
    if len(rows) < 2 or not all(text.isdigit() for text in digits):
        return False
    numbers = [int(text) for text in digits]
    return all(later - earlier == 1 for earlier, later in pairwise(numbers))


def _pairs(columns: tuple[Column, ...]) -> tuple[Pair, ...]:
    """Pair temperature, humidity and dew point by what is left of their heads, else by their order."""
    by_role: dict[str, list[int]] = {"temperature": [], "humidity": [], "dew": []}
    for place, column in enumerate(columns):
        if column.role in by_role:
            by_role[column.role].append(place)
    temperatures, humidities = _drop_second_units(columns, by_role["temperature"]), by_role["humidity"]
    if not temperatures or not humidities:
        return ()
    names = [columns[place].sensor for place in temperatures]
    same = len(set(names)) == len(names) and {columns[place].sensor for place in humidities} >= set(names)
    pairs = []
    for order, temperature in enumerate(temperatures):
        name = columns[temperature].sensor
        if same:
            humidity = next(place for place in humidities if columns[place].sensor == name)
        elif order < len(humidities):
            humidity = humidities[order]
        else:
            break
        dews = [place for place in by_role["dew"] if columns[place].sensor == name]
        if not same:
            dews = by_role["dew"][order : order + 1]
        pairs.append(Pair(name, temperature, humidity, dews[0] if dews else None))
    if len(pairs) == 1:
        pairs = [replace(pairs[0], sensor="")]
    elif len({pair.sensor for pair in pairs}) < len(pairs):
        pairs = [replace(pair, sensor=str(order)) for order, pair in enumerate(pairs, 1)]
    return tuple(pairs)


def _drop_second_units(columns: tuple[Column, ...], places: list[int]) -> list[int]:
    """Keep one of two columns that hold the same temperature in °C and in °F."""
    kept: list[int] = []
    units: dict[str, Unit | None] = {}
    for place in places:
        sensor, unit = columns[place].sensor, columns[place].unit
        other = units.get(sensor)
        if sensor in units and other and unit and other != unit:
            if unit == "C":
                kept = [before for before in kept if columns[before].sensor != sensor] + [place]
            continue
        units[sensor] = unit
        kept.append(place)
    return kept
