"""What a file of readings is understood to be: the results that reading and previewing hand over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from conservation.science.figures import figures

MOST_REFUSED_KEPT = int(figures("readings").value("most_refused_kept"))

Role = Literal[
    "stamp", "date", "clock", "temperature", "humidity", "dew", "index", "channel", "value", "sensor", "other"
]
Unit = Literal["C", "F"]


class NotReadings(ValueError):
    """The file holds nothing that can be read as temperature and humidity over time; the sentence says why."""


class Stopped(Exception):
    """Reading was stopped on request; nothing of the file was handed over."""


@dataclass(frozen=True, slots=True)
class Choices:
    """What the keeper has settled about a file; None leaves it to the file.

    `columns` gives a column, counted from 0, another role than its head suggests.
    """

    day_first: bool | None = None
    unit: Unit | None = None
    tz: str | None = None
    columns: Mapping[int, Role] | None = None


@dataclass(frozen=True, slots=True)
class Question:
    """Something that has two readings, and the choice that settles it."""

    code: str
    text: str
    choice: str = ""  # the field of `Choices` that answers it
    options: tuple[Any, ...] = ()
    suggested: Any = None
    blocking: bool = True  # nothing is used until it is answered


@dataclass(frozen=True, slots=True)
class Refused:
    """One row that was not used. `line` is counted from 1, as a text editor does."""

    line: int
    why: str


@dataclass(frozen=True, slots=True)
class Series:
    """The readings of one sensor in order of time.

    `times_s` are epoch seconds in UTC; where no time zone is known they are the clock's own time written as if it
    were UTC (`Readings.aware` is false), and an hour that the clock repeated holds two readings of one time.
    """

    sensor: str
    times_s: NDArray[np.int64]
    temperature_c: NDArray[np.float64]
    relative_humidity_pct: NDArray[np.float64]
    lines: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.times_s)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a file, as understood."""

    head: str
    role: Role
    unit: Unit | None = None
    sensor: str = ""


@dataclass(slots=True)
class Readings:
    """Everything read from one file."""

    series: list[Series] = field(default_factory=list)
    aware: bool = False
    refused: list[Refused] = field(default_factory=list)
    refused_count: int = 0
    questions: list[Question] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    doubles_merged: int = 0
    day_first: bool | None = None  # None where the dates name their order themselves
    unit: Unit | None = None

    def refuse(self, line: int, why: str) -> None:
        """Note a row that is not used; beyond some thousands they are only counted."""
        self.refused_count += 1
        if len(self.refused) < MOST_REFUSED_KEPT:
            self.refused.append(Refused(line, why))

    def note(self, said: str) -> None:
        """Note a sentence once."""
        if said not in self.notes:
            self.notes.append(said)

    def ask(self, question: Question) -> None:
        """Ask a question once."""
        if question.code not in {asked.code for asked in self.questions}:
            self.questions.append(question)

    @property
    def rows_used(self) -> int:
        """How many readings are handed over, over all sensors."""
        return sum(len(series) for series in self.series)

    @property
    def blocked(self) -> bool:
        """Whether a question must be answered before anything can be used."""
        return any(question.blocking for question in self.questions)


@dataclass(frozen=True, slots=True)
class SampleRow:
    """One row as written and as understood."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Preview:
    """What a file was understood to be, before anything is kept of it."""

    encoding: str
    delimiter: str
    decimal_comma: bool
    columns: tuple[Column, ...]
    time_kind: str
    sample: tuple[SampleRow, ...]
    readings: Readings
