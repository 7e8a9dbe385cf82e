"""Reads the files of figures in ``data/``: one row, one value, its unit, source, locator and status."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from conservation.science.sources import DATA, STATUSES, Citation, Status, register

UNITS = frozenset(
    {
        "",
        "°C",
        "K",
        "Pa",
        "%",
        "h",
        "d",
        "year",
        "kJ/mol",
        "J/(mol·K)",
        "J/(kg·K)",
        "1/d",
        "1/week",
        "1/year",
        "minute",
        "g/g",
    }
)


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure and where it comes from."""

    key: str
    value: float
    unit: str
    citation: Citation


class FigureFile(dict[str, Figure]):
    """The figures of one file by key."""

    def value(self, key: str) -> float:
        """Return the bare number of a figure, in the unit its row names."""
        return self[key].value

    def cite(self, *keys: str) -> list[Citation]:
        """Return the citations of some figures, or of all when none is named."""
        return [self[key].citation for key in (keys or self)]


def check_row(file: str, key: str, row: dict[str, object], extra: Iterable[str] = ()) -> Citation:
    """Return a row's citation.

    Raises:
        ValueError: the row has no known status, source or unit, or a field nobody reads.
    """
    allowed = {"value", "unit", "source", "locator", "status", *extra}
    if unread := set(row) - allowed:
        raise ValueError(f"{file}: {key}: nobody reads {sorted(unread)}")
    if row.get("status") not in STATUSES:
        raise ValueError(f"{file}: {key}: unknown status {row.get('status')!r}")
    if row.get("source") not in register():
        raise ValueError(f"{file}: {key}: unknown source {row.get('source')!r}")
    if row.get("unit") not in UNITS:
        raise ValueError(f"{file}: {key}: unknown unit {row.get('unit')!r}")
    status: Status = row["status"]  # type: ignore[assignment]  # checked above
    return Citation(str(row["source"]), str(row.get("locator", "")), status)


@cache
def figures(name: str) -> FigureFile:
    """Load ``data/NAME.toml``.

    Raises:
        ValueError: a row lacks something, or holds something that is no number.
    """
    with (DATA / f"{name}.toml").open("rb") as file:
        rows = tomllib.load(file)
    loaded = FigureFile()
    for key, row in rows.items():
        citation = check_row(name, key, row)
        value = row.get("value")
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise ValueError(f"{name}: {key}: {value!r} is no number")
        loaded[key] = Figure(key, float(value), row["unit"], citation)
    return loaded
