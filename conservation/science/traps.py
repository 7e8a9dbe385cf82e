"""Insect traps: what their counts say (pure). Figures stand in ``data/traps.toml``; times in days."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Any, Literal

from conservation.science.sources import DATA, Citation

Trend = Literal["unknown", "falling", "steady", "rising"]
Level = Literal["quiet", "some", "look"]

_MONTH = 30.0


@dataclass(frozen=True)
class InsectGroup:
    """One of the five groups that are counted. ``per_month``: animals in one trap in 30 days that ask for a look."""

    code: str
    name: str
    line: str
    per_month: float
    threatens: tuple[str, ...]
    check: str


@dataclass(frozen=True)
class Count:
    """What was in a trap on a day, by group, since the day before it (placed, renewed or counted)."""

    day: date
    since: date
    animals: Mapping[str, int]


@dataclass(frozen=True)
class Judgement:
    """What a trap's last count says of one group."""

    group: InsectGroup
    animals: int
    per_month: float
    level: Level
    trend: Trend


@cache
def _file() -> dict[str, Any]:
    with (DATA / "traps.toml").open("rb") as file:
        return tomllib.load(file)


def _cite(row: dict[str, Any]) -> Citation:
    return Citation(row["source"], row["locator"], row["status"])


@cache
def groups() -> tuple[InsectGroup, ...]:
    """Return the groups of animals, in the order of the table."""
    return tuple(
        InsectGroup(
            code, row["name"], row["line"], float(row["per_month"]), tuple(row["threatens"]), row["check"]
        )
        for code, row in _file()["group"].items()
    )  # fmt: skip


def threshold_citation() -> Citation:
    """Return where the thresholds come from."""
    return _cite(_file()["threshold"])


def rule(name: str) -> float:
    """Return a rule's value, in days or pieces."""
    return float(_file()["rule"][name]["value"])


def rule_citation(name: str) -> Citation:
    """Return where a rule comes from."""
    return _cite(_file()["rule"][name])


def placing() -> tuple[tuple[str, Citation], ...]:
    """Return where traps go, each with who says so."""
    return tuple((row["do"], _cite(row)) for row in _file()["place"])


def judge(counts: Sequence[Count]) -> tuple[Judgement, ...]:
    """Return what the last count of a trap says of each group, beside the three before it.

    Rates are per 30 days, so that a trap counted after a week is not judged as one counted after three months; a count
    of less than a week is taken as a week's. ``rising`` is more than half as much again as the mean before, by at least
    one animal; ``falling`` less than half of it.
    """
    ordered = sorted(counts, key=lambda each: each.day)
    if not ordered:
        return ()
    last, before = ordered[-1], ordered[-4:-1]
    found = []
    for group in groups():
        rate = per_month(last, group.code)
        level: Level = "look" if rate >= group.per_month else "some" if last.animals.get(group.code) else "quiet"
        trend = _trend(rate, [per_month(each, group.code) for each in before])
        found.append(Judgement(group, last.animals.get(group.code, 0), rate, level, trend))
    return tuple(found)


def per_month(count: Count, group: str) -> float:
    """Return how many animals of a group one trap caught in 30 days."""
    days = max((count.day - count.since).days, 7)
    return count.animals.get(group, 0) * _MONTH / days


def _trend(now: float, before: Sequence[float]) -> Trend:
    if not before:
        return "unknown"
    mean = sum(before) / len(before)
    if now > 1.5 * mean and now - mean >= 1:
        return "rising"
    return "falling" if now < 0.5 * mean else "steady"


def replace_on(placed: date, *, lure: bool) -> date:
    """Return the day a trap, or its lure, is to be renewed."""
    return placed + timedelta(days=rule("lure_after" if lure else "replace_after"))


def count_on(last: date) -> date:
    """Return the day a trap is to be looked at again."""
    return last + timedelta(days=rule("count_every"))
