"""Cleaning steps with their cautions (pure; ``data/cleaning.toml``)."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any

from conservation.science.sources import DATA, Citation


@dataclass(frozen=True)
class Task:
    """One piece of cleaning: its steps in order, and the caution that comes first (a code of rounds' cautions)."""

    code: str
    name: str
    caution: str
    steps: tuple[str, ...]
    citation: Citation


@cache
def _file() -> dict[str, Any]:
    with (DATA / "cleaning.toml").open("rb") as file:
        return tomllib.load(file)


def _cite(row: dict[str, Any]) -> Citation:
    return Citation(row["source"], row["locator"], row["status"])


@cache
def tasks() -> tuple[Task, ...]:
    """Return all cleaning tasks, in the order of the table."""
    return tuple(
        Task(code, row["name"], row["caution"], tuple(row["steps"]), _cite(row))
        for code, row in _file()["task"].items()
    )


def never() -> tuple[tuple[str, ...], Citation]:
    """Return what cleaning never is, and who says so."""
    row = _file()["never"]["sheet"]
    return tuple(row["lines"]), _cite(row)
