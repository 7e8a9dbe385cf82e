"""From lines to columns of numbers, some thousand lines at a time.

The quick way splits a whole group of lines at once and looks every cell up. Only the rows that fail are looked at
one by one, to say what is wrong with them.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass, field
from itertools import repeat
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray

from conservation.science.figures import figures
from conservation.science.readings.cells import (
    ClockCells,
    DateCells,
    NumberCells,
    number_of,
    split_stamp,
)
from conservation.science.readings.layout import Layout, cells_of, layout_of_head
from conservation.science.readings.model import NotReadings, Readings
from conservation.science.readings.quality import UNIT_CODE
from conservation.science.readings.words import is_head

Array = NDArray[np.float64]
_F = figures("readings")
_MOST_ROWS = int(_F.value("most_rows"))
_SERIAL_EPOCH_DAY = 25569  # 1970-01-01 in the day count of spreadsheets
_MINUTE_S, _DAY_S = 60, 86400
_MOST_SLOW_CELLS = 0.3  # up to this share of times may be looked at one by one


@dataclass(slots=True)
class Block:
    """Rows of one group of lines for one sensor, whole numbers only."""

    dates: NDArray[np.int32]  # position in the list of dates, −1 where `clock` is the whole moment
    clock: Array  # seconds of the day, or epoch seconds
    temperature: Array
    humidity: Array
    dew: Array | None
    unit: int
    lines: NDArray[np.int64]


@dataclass(slots=True)
class LongBlock:
    """Rows of one group of lines in long form: one value a row."""

    dates: NDArray[np.int32]
    clock: Array
    channels: list[str]
    values: Array
    lines: NDArray[np.int64]


@dataclass(slots=True)
class Parsed:
    """A group of rows as numbers: temperature and humidity of every pair in turn, or the one value of long form."""

    dates: NDArray[np.int32]
    clock: Array  # NaN marks a moment that is not understood
    values: list[Array]
    faulty: NDArray[np.bool_]


@dataclass(slots=True)
class Gatherer:
    """Collects the rows of a file."""

    layout: Layout
    dates: DateCells = field(default_factory=DateCells)
    clocks: ClockCells = field(default_factory=ClockCells)
    numbers: dict[int, NumberCells] = field(default_factory=dict)
    blocks: dict[str, list[Block]] = field(default_factory=dict)
    long_blocks: list[LongBlock] = field(default_factory=list)
    result: Readings = field(default_factory=Readings)
    heads_repeated: int = 0
    rows: int = 0

    def take(self, lines: list[str], first_line: int) -> None:
        """Read a group of lines; `first_line` is the first one's number, counted from 1.

        Raises
        ------
        NotReadings
            The file has more rows than are read in one go.
        """
        self.rows += len(lines)
        if self.rows > _MOST_ROWS:
            raise NotReadings(
                f"The file has more than {_MOST_ROWS:,} rows, which is more than ten years at two minutes. "
                "Part it into pieces and bring them in one by one."
            )
        columns = self._split_quickly(lines)
        if columns is None:
            width = self.layout.width
            rows = [cells_of(line, self.layout.delimiter) for line in lines]
            columns = [[row[place] if place < len(row) else "" for row in rows] for place in range(width)]
        self._take_columns(columns, np.arange(first_line, first_line + len(lines)))

    def _split_quickly(self, lines: list[str]) -> list[list[str]] | None:
        """Return the columns of lines of one width, None where a line must be looked at by itself."""
        delimiter, width = self.layout.delimiter, self.layout.width
        text = delimiter.join(lines)
        if '"' in text:
            try:
                rows = list(csv.reader(lines, delimiter=delimiter, skipinitialspace=True))
            except csv.Error:
                return None
            if len(rows) != len(lines) or any(len(row) != width for row in rows):
                return None
            return [list(map(itemgetter(place), rows)) for place in range(width)]
        cells = text.split(delimiter)
        if len(cells) != width * len(lines):
            return None
        # A long row and a short one can make up for each other; a text holds as many delimiters then as it should.
        if set(map(str.count, lines, repeat(delimiter))) != {width - 1}:
            return None
        return [cells[place::width] for place in range(width)]

    def _take_columns(self, columns: list[list[str]], lines: NDArray[np.int64]) -> None:
        """Keep rows without fault, say what is wrong with the others, and follow heads that change the layout."""
        begin = 0
        while begin < len(lines):
            begin += self._take_until_new_head([column[begin:] for column in columns], lines[begin:])

    def _take_until_new_head(self, columns: list[list[str]], lines: NDArray[np.int64]) -> int:
        """Take rows up to a head that changes the layout; return how many rows are done with, that head included."""
        parsed = self._parse(columns)
        end = len(lines)
        changed: Layout | None = None
        for place in np.flatnonzero(parsed.faulty).tolist():
            row = [column[place] for column in columns]
            if not any(cell.strip() for cell in row):
                continue
            if np.isnan(parsed.clock[place]) and is_head(row):
                self.heads_repeated += 1
                changed = layout_of_head(row, self.layout)
                if changed:
                    end = place
                    break
            elif any("\x00" in cell for cell in row):
                self.result.refuse(int(lines[place]), "the row was cut off in a transfer (zero bytes)")
            elif why := self._why(row, parsed, place):
                self.result.refuse(int(lines[place]), why)
        if self.layout.is_long:
            self._keep_long(columns, parsed, lines, end)
        else:
            self._keep(columns, parsed, lines, end)
        if changed:
            self.layout, self.numbers = changed, {}
            return end + 1
        return len(lines)

    # --- cells to numbers ---

    def _parse(self, columns: list[list[str]]) -> Parsed:
        layout = self.layout
        dates, clock = self._moments(columns)
        faulty = np.isnan(clock)
        values: list[Array] = []
        if layout.value_column is not None:
            values.append(self._numbers(columns, layout.value_column))
        for pair in layout.pairs:
            values += [self._numbers(columns, pair.temperature), self._numbers(columns, pair.humidity)]
        for column in values:
            faulty = faulty | np.isnan(column)
        return Parsed(dates, clock, values, faulty)

    def _numbers(self, columns: list[list[str]], place: int) -> Array:
        cells = self.numbers.get(place)
        if cells is None:
            cells = self.numbers[place] = NumberCells(self.layout.columns[place].unit)
        return np.array([cells[text] for text in columns[place]], dtype=np.float64)

    def _moments(self, columns: list[list[str]]) -> tuple[NDArray[np.int32], Array]:
        """Return the date's position and the time of day of every row; NaN in the latter marks a fault."""
        layout, dates, clocks = self.layout, self.dates, self.clocks
        cells = columns[layout.time_column]
        if layout.time_kind in ("epoch", "epoch-ms", "serial"):
            return np.full(len(cells), -1, dtype=np.int32), _counted(cells, layout.time_kind)
        if cells[0] != cells[0].strip():
            cells = [text.strip() for text in cells]
        if layout.clock_column is not None:
            days = np.array([dates[text] for text in cells], dtype=np.int32)
            clock = np.array([clocks[text] for text in columns[layout.clock_column]], dtype=np.float64)
        else:
            days, clock = self._stamps(cells)
        for place in np.flatnonzero((days < 0) | np.isnan(clock)):
            text = cells[place]
            if layout.clock_column is not None:
                written = split_stamp(text)
                text = f"{written[0]} {columns[layout.clock_column][place]}" if written else text
            split = split_stamp(text)
            if split:
                days[place], clock[place] = dates[split[0]], clocks[split[1]]
            else:
                clock[place] = math.nan
        clock[days < 0] = math.nan
        return days, clock

    def _stamps(self, cells: list[str]) -> tuple[NDArray[np.int32], Array]:
        """Read dates with times of day the quickest way that fits most of them; the others stay −1 or NaN."""
        dates, clocks = self.dates, self.clocks
        sample = next((text for text in cells[:5] if split_stamp(text)), "")
        mark = "T" if sample[10:11] == "T" or sample[8:9] == "T" else " "
        width = len(sample.partition(mark)[0])
        for attempt in ("cut", "left", "right", "two words"):
            if attempt == "cut":
                days = [dates[text[:width]] for text in cells]
                clock = [clocks[text[width + 1 :]] for text in cells]
            else:
                if attempt == "two words":
                    parts = [_last_two_words(text) for text in cells]
                else:
                    parts = [text.partition(mark) if attempt == "left" else text.rpartition(mark) for text in cells]
                days = [dates[part[0]] for part in parts]
                clock = [clocks[part[2]] for part in parts]
            found = np.array(days, dtype=np.int32), np.array(clock, dtype=np.float64)
            if np.mean((found[0] < 0) | np.isnan(found[1])) < _MOST_SLOW_CELLS:
                return found
        return np.full(len(cells), -1, dtype=np.int32), np.full(len(cells), math.nan)

    # --- numbers to blocks ---

    def _keep(self, columns: list[list[str]], parsed: Parsed, lines: NDArray[np.int64], end: int) -> None:
        layout = self.layout
        names = None if layout.sensor_column is None else np.array([n.strip() for n in columns[layout.sensor_column]])
        for order, pair in enumerate(layout.pairs):
            temperature, humidity = parsed.values[2 * order : 2 * order + 2]
            dew = None if pair.dew is None else self._numbers(columns, pair.dew)
            unit = UNIT_CODE[self.numbers[pair.temperature].unit]
            good = ~(np.isnan(parsed.clock) | np.isnan(temperature) | np.isnan(humidity))
            good[end:] = False
            by_name = {pair.sensor: good}
            if names is not None:
                by_name = {f"{name} {pair.sensor}".strip(): good & (names == name) for name in np.unique(names[good])}
            for sensor, rows in by_name.items():
                if rows.any():
                    block = Block(
                        parsed.dates[rows],
                        parsed.clock[rows],
                        temperature[rows],
                        humidity[rows],
                        None if dew is None else dew[rows],
                        unit,
                        lines[rows],
                    )
                    self.blocks.setdefault(sensor, []).append(block)

    def _keep_long(self, columns: list[list[str]], parsed: Parsed, lines: NDArray[np.int64], end: int) -> None:
        layout = self.layout
        names = columns[layout.channel_column or 0]
        if layout.sensor_column is not None:
            names = [f"{name} {sensor}" for name, sensor in zip(names, columns[layout.sensor_column], strict=True)]
        good = np.flatnonzero(~parsed.faulty[:end])
        channels = [names[place] for place in good]
        self.long_blocks.append(
            LongBlock(parsed.dates[good], parsed.clock[good], channels, parsed.values[0][good], lines[good])
        )

    # --- words for what is wrong ---

    def _why(self, row: list[str], parsed: Parsed, place: int) -> str:
        """Say what is wrong with a row; "" where a sensor among several was only silent."""
        layout = self.layout
        if np.isnan(parsed.clock[place]):
            return self._why_no_moment(row)
        if layout.value_column is not None:
            return _fault("value", row[layout.value_column].strip())
        faults = []
        several = len(layout.pairs) > 1
        for order, pair in enumerate(layout.pairs):
            warm, damp = row[pair.temperature].strip(), row[pair.humidity].strip()
            if several and not warm and not damp:
                continue
            name = f" of sensor {pair.sensor}" if several else ""
            if np.isnan(parsed.values[2 * order][place]):
                faults.append(_fault("temperature" + name, warm))
            if np.isnan(parsed.values[2 * order + 1][place]):
                faults.append(_fault("humidity" + name, damp))
        return "; ".join(faults)

    def _why_no_moment(self, row: list[str]) -> str:
        layout = self.layout
        text = row[layout.time_column].strip()
        if layout.clock_column is not None:
            text = f"{text} {row[layout.clock_column].strip()}".strip()
        if not text:
            return "no time"
        if not any(letter.isdigit() for letter in text):
            return f"{_quoted(text)} is no time; perhaps a line of sums or remarks"
        return f"the time {_quoted(text)} is not understood"


def _last_two_words(text: str) -> tuple[str, str, str]:
    """Part "3 Feb 2026 02:05 PM" before its last two words."""
    before, _, half = text.rpartition(" ")
    date, _, clock = before.rpartition(" ")
    return date, " ", f"{clock} {half}"


def _counted(cells: list[str], kind: str) -> Array:
    """Return epoch seconds for counted seconds, thousandths or spreadsheet days; NaN for what is none."""

    def plain(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            number = number_of(text)
            value = number.value if number else math.nan
        return value if math.isfinite(value) else math.nan

    counted = np.array([plain(text) for text in cells], dtype=np.float64)
    if kind == "epoch":
        counted[(counted < 0) | (counted > 5e9)] = math.nan
        return counted
    if kind == "epoch-ms":
        counted[(counted < 0) | (counted > 5e12)] = math.nan
        return counted / 1000
    counted[(counted < 1) | (counted > 100_000)] = math.nan
    seconds = (counted - _SERIAL_EPOCH_DAY) * _DAY_S
    # Four decimals of a day are nine seconds: what was written so coarsely meant a whole minute.
    decimals = max((len(text.strip().replace(",", ".").partition(".")[2]) for text in cells), default=0)
    return np.round(seconds / _MINUTE_S) * _MINUTE_S if decimals <= 4 else np.round(seconds)


def _fault(what: str, text: str) -> str:
    return f"the {what} {_quoted(text)} is no number" if text else f"no {what}"


def _quoted(text: str) -> str:
    text = " ".join(text.split())
    return f"“{text[:40]}”"
