"""The words and figures of sorting: questions of a first look, the triage card, limits (pure; no Django)."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

_HERE = Path(__file__).parent
# Every source is named once, in the list that the sums use too.
_SOURCES = _HERE.parent.parent / "conservation" / "science" / "data" / "sources.toml"

DANGER, CLOCK, ASK, REST = 1, 2, 3, 4


@dataclass(frozen=True)
class Backing:
    """Who says so: the source in words, where in it, and how sure we are of it."""

    source: str
    locator: str
    status: str


@dataclass(frozen=True)
class Question:
    """Something a first look may notice, with what to do at once. ``tier`` is 1 for danger, 2 for a running clock."""

    code: str
    group: str
    asks: str
    words: str
    do: str
    job: str
    tier: int
    urgency: int
    closed: bool
    minutes: int
    backing: Backing


@dataclass(frozen=True)
class Level:
    """One step of significance, 1 to 5."""

    value: int
    name: str
    means: str
    example: str
    backing: Backing


@dataclass(frozen=True)
class Line:
    """A line of the triage card."""

    say: str
    backing: Backing


@dataclass(frozen=True)
class Caution:
    """What things of some kinds ask before they leave the house."""

    kinds: frozenset[str]
    name: str
    say: str
    backing: Backing


@cache
def _table(name: str) -> dict[str, Any]:
    with (_HERE / name).open("rb") as file:
        return tomllib.load(file)


@cache
def _sources() -> dict[str, dict[str, Any]]:
    with _SOURCES.open("rb") as file:
        return tomllib.load(file)


def _backing(row: dict[str, Any]) -> Backing:
    source = _sources()[row["source"]]
    words = source["title"] if row["source"] in ("kistbook", "trade") else f"{source['author']}, {source['title']}"
    return Backing(words, row["locator"], row["status"])


@cache
def questions() -> dict[str, Question]:
    """Return the questions of a first look by code, in the order in which they are asked."""
    return {
        code: Question(
            code, row["group"], row["asks"], row["is"], row["do"], row["job"], row["tier"], row["urgency"],
            row["closed"], row["minutes"], _backing(row),
        )
        for code, row in _table("questions.toml")["question"].items()
    }  # fmt: skip


def question_groups() -> list[tuple[str, str, list[Question]]]:
    """Return the questions in groups: code, heading, questions."""
    return [
        (code, heading, [each for each in questions().values() if each.group == code])
        for code, heading in _table("questions.toml")["group"].items()
    ]


def noticed(codes: Iterable[str]) -> list[Question]:
    """Return what was noticed, the most pressing first; codes that are no longer asked are left out."""
    found = [questions()[code] for code in codes if code in questions()]
    return sorted(found, key=lambda each: (each.tier, -each.urgency))


def scale(name: str) -> list[tuple[int, str]]:
    """Return the steps of ``urgency`` or ``interest`` with their words."""
    return list(enumerate(_table("questions.toml")["scale"][name]["words"], 1))


def work(name: str) -> int:
    """Return a figure of the work table: minutes, or a number of jobs."""
    return int(_table("questions.toml")["work"][name]["value"])


def limit(name: str) -> int:
    """Return a limit of proposals."""
    return int(_table("proposals.toml")[name]["value"])


@cache
def levels() -> tuple[Level, ...]:
    """Return the steps of significance, 5 first."""
    rows = _table("triage.toml")["level"]
    return tuple(Level(row["value"], row["name"], row["means"], row["example"], _backing(row)) for row in rows)


@cache
def triage_lines(part: str) -> tuple[Line, ...]:
    """Return the lines of a part of the card: ``may_go`` or ``never``."""
    return tuple(Line(row["say"], _backing(row)) for row in _table("triage.toml")[part])


@cache
def cautions() -> tuple[Caution, ...]:
    """Return all cautions for things that are to leave."""
    rows = _table("triage.toml")["caution"]
    return tuple(Caution(frozenset(row["kinds"]), row["name"], row["say"], _backing(row)) for row in rows)


def cautions_for(kind_codes: Iterable[str]) -> list[Caution]:
    """Return the cautions that things of these kinds, or with parts of them, bring."""
    codes = set(kind_codes)
    return [each for each in cautions() if each.kinds & codes]
