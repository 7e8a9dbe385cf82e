"""The tables of rounds, read once from ``data/rounds.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any

from archive.kinds import FAMILIES, KIND_CODES, kinds
from conservation.science.sources import DATA, STATUSES, Citation, register

SENSES = ("look", "smell", "feel")
TOPICS = frozenset({"damp", "mould", "pest", "insect", "light", "heat", "film"})


@dataclass(frozen=True)
class Caution:
    """What is said before anything else, and whom to call (codes of the list ``call``)."""

    code: str
    say: str
    call: tuple[str, ...]
    citation: Citation


@dataclass(frozen=True)
class Check:
    """One line of a round. Days are days; tier 1 people in danger, 2 a clock runs, 4 the rest."""

    code: str
    name: str
    senses: tuple[str, ...]
    ask: str
    means: str
    do: tuple[str, ...]
    caution: str
    when: frozenset[str]
    days: int
    least: int
    most: int
    topics: frozenset[str]
    threatens: tuple[str, ...]
    tier: int
    storm: bool
    citation: Citation


@dataclass(frozen=True)
class Step:
    """How far a risk moves an interval along the ladder, and for checks of which topics (none: all)."""

    code: str
    steps: int
    topics: frozenset[str]
    because: str
    citation: Citation


@cache
def _file() -> dict[str, Any]:
    with (DATA / "rounds.toml").open("rb") as file:
        return tomllib.load(file)


def cite(row: dict[str, Any]) -> Citation:
    """Return where a row comes from.

    Raises:
        ValueError: its source or status is not known.
    """
    if row["source"] not in register() or row["status"] not in STATUSES:
        raise ValueError(f"unknown source or status: {row['source']}, {row['status']}")
    return Citation(row["source"], row["locator"], row["status"])


def ladder() -> tuple[int, ...]:
    """Return the intervals in use, in days, the shortest first; our default."""
    return tuple(_file()["ladder"])


@cache
def groups() -> dict[str, frozenset[str]]:
    """Return the kinds of each group (``wood``, ``protein`` …).

    Raises:
        ValueError: a row names a family or kind that does not exist.
    """
    known, found = {family.code for family in FAMILIES}, {}
    for code, row in _file()["holds"].items():
        families, own = set(row.get("families", [])), set(row.get("kinds", []))
        if families - known or own - KIND_CODES:
            raise ValueError(f"rounds: {code}: {families - known | own - KIND_CODES}")
        found[code] = frozenset(own | {kind.code for kind in kinds() if kind.family in families})
    return found


def groups_of(kind_codes: frozenset[str]) -> frozenset[str]:
    """Return the groups that some of these kinds belong to."""
    return frozenset(code for code, members in groups().items() if members & kind_codes)


def kinds_of(group_codes: tuple[str, ...]) -> frozenset[str]:
    """Return all kinds of some groups."""
    return frozenset().union(*(groups()[code] for code in group_codes))


@cache
def cautions() -> dict[str, Caution]:
    """Return all cautions by code."""
    return {code: Caution(code, row["say"], tuple(row["call"]), cite(row)) for code, row in _file()["caution"].items()}


@cache
def checks() -> dict[str, Check]:
    """Return all checks by code, in their order.

    Raises:
        ValueError: a row holds something that no list knows.
    """
    found = {}
    for code, row in _file()["check"].items():
        check = Check(
            code, row["name"], tuple(row["senses"]), row["ask"], row["means"], tuple(row["do"]),
            row.get("caution", ""), frozenset(row.get("when", [])), row["days"], row["least"], row["most"],
            frozenset(row["topics"]), tuple(row["threatens"]), row.get("tier", 4), row.get("storm", False), cite(row),
        )  # fmt: skip
        fine = (
            set(check.senses) <= set(SENSES)
            and check.topics <= TOPICS
            and set(check.threatens) <= groups().keys()
            and check.caution in {"", *cautions()}
            and {check.days, check.least, check.most} <= set(ladder())
            and check.least <= check.days <= check.most
        )
        if not fine:
            raise ValueError(f"rounds: {code} names something that is in no list")
        found[code] = check
    return found


@cache
def steps() -> dict[str, Step]:
    """Return the steps along the ladder by code."""
    return {
        code: Step(code, row["steps"], frozenset(row.get("topics", [])), row["because"], cite(row))
        for code, row in _file()["step"].items()
    }
