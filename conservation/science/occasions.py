"""Days that matter: which dates make a day of the year, when it comes, what round years weigh.

Only a date known to the day makes a day. One known to within a week makes a week. All else makes no day, and says so.
"""

from __future__ import annotations

import re
import tomllib
from calendar import isleap
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any, Literal

from archive.folding import fold
from conservation.science.sources import DATA, Citation

Grip = Literal["day", "week", "none"]
HEAVIEST = 3


@dataclass(frozen=True)
class Known:
    """Something that happened once: ``kind`` is a code of ``data/occasions.toml``; days are ISO, empty when open."""

    key: str
    kind: str
    edtf: str
    earliest: str
    latest: str


@dataclass(frozen=True)
class Coming:
    """A day that comes round: when, after how many years, how much it weighs, and how well its date is known."""

    key: str
    kind: str
    day: date
    years: int
    weight: int
    grip: Grip
    is_round: bool


@cache
def _tables() -> dict[str, Any]:
    with (DATA / "occasions.toml").open("rb") as file:
        return tomllib.load(file)


def citation(table: str) -> Citation:
    """Return who says a table of ``occasions.toml``."""
    row = _tables()[table]
    return Citation(row["source"], row["locator"], row["status"])


def grip_of(edtf: str, earliest: str, latest: str) -> Grip:
    """Say whether a date makes a day, a week or nothing of the year.

    A day that is only perhaps so (``?``) makes a week; one that is about so (``~``, ``%``) may be years off and makes
    nothing.
    """
    if "~" in edtf or "%" in edtf:
        return "none"
    try:
        first, last = date.fromisoformat(earliest), date.fromisoformat(latest)
    except ValueError:
        return "none"
    if first == last:
        return "week" if "?" in edtf else "day"
    near = 0 <= (last - first).days < int(_tables()["uncertain"]["widest_days"])
    return "week" if near else "none"


def day_in(year: int, month: int, day: int) -> date:
    """Return the day of a year on which a month and day are kept: 29 February on the 28th where there is none."""
    if month == 2 and day == 29 and not isleap(year):
        return date(year, 2, 28)
    return date(year, month, day)


def weight_of(kind: str, years: int) -> int:
    """Return how much an anniversary weighs, 0 to 3; 0 means that it is not an occasion in an ordinary year."""
    base = int(_tables()["weight"][kind])
    rounds = _tables()["round"]
    for every, adds in zip(rounds["years"], rounds["adds"], strict=True):
        if years % every == 0:
            return min(HEAVIEST, base + int(adds))
    return base


def is_round(years: int) -> bool:
    """Say whether a number of years is one of those that weigh more."""
    return any(years % every == 0 for every in _tables()["round"]["years"])


def only_round(kind: str) -> bool:
    """Say whether days of a kind count in round years only."""
    return int(_tables()["weight"][kind]) == 0


def anniversaries(origin: date, first: date, last: date) -> list[tuple[date, int]]:
    """Return the days from first to last on which something of a day long ago is kept, with the years since."""
    found = []
    for year in range(max(first.year, origin.year + 1), last.year + 1):
        day = day_in(year, origin.month, origin.day)
        if first <= day <= last:
            found.append((day, year - origin.year))
    return found


def comings(known: Iterable[Known], first: date, last: date) -> list[Coming]:
    """Return the anniversaries that fall into a span of days, in order; those that weigh nothing are left out."""
    found = []
    for each in known:
        grip = grip_of(each.edtf, each.earliest, each.latest)
        if grip == "none":
            continue
        for day, years in anniversaries(date.fromisoformat(each.earliest), first, last):
            weight = weight_of(each.kind, years)
            if weight:
                found.append(Coming(each.key, each.kind, day, years, weight, grip, is_round(years)))
    return sorted(found, key=lambda each: (each.day, -each.weight, each.key))


def round_years(known: Iterable[Known], year: int) -> list[tuple[str, int]]:
    """Return what had its year a round number of years before, and makes no day because only the year is known."""
    found = []
    for each in known:
        if grip_of(each.edtf, each.earliest, each.latest) != "none" or "~" in each.edtf or "%" in each.edtf:
            continue
        if each.earliest[:4].isdecimal() and each.earliest[:4] == each.latest[:4]:
            years = year - int(each.earliest[:4])
            if years > 0 and is_round(years):
                found.append((each.key, years))
    return found


def story_kind(text: str) -> str:
    """Return whether a dated story is taken for a move, for war service, or for a story only, by its words."""
    folded = f" {' '.join(re.findall(r'[a-z0-9]+', fold(text)))} "
    for kind in ("move", "service"):
        if any(f" {fold(phrase)} " in folded for phrase in _tables()["words"][kind]):
            return kind
    return "story"
