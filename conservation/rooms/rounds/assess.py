"""Rooms and what is known of them → check lists, intervals and what a finding means, in words for pages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Any

from archive.kinds import kind
from conservation.reasons import Reason, reason
from conservation.rooms.rounds.models import Answer, Finding
from conservation.rooms.rounds.queries import LATELY_DAYS, RoomRows
from conservation.science import cleaning
from conservation.science.rounds import (
    Check,
    Fill,
    Interval,
    Situation,
    cautions,
    checks,
    checks_for,
    due_on,
    interval,
    judge_air,
    kinds_of,
    room_words,
)
from conservation.science.rounds.lists import RISKY_FLOORS
from conservation.science.sources import Citation
from conservation.science.words import word

MINUTES_PER_CHECK = 1  # our default
_SOON_DAYS = 3  # what is due so soon is looked at on the same walk
_SENSES = {"look": "Look", "smell": "Smell", "feel": "Feel"}


@dataclass(frozen=True)
class Line:
    """One check of a room: what it is, when it was last looked at, when it is due, and why so often."""

    check: Check
    last: date | None
    every: Interval
    due: date
    reasons: tuple[Reason, ...]

    @property
    def senses(self) -> str:
        """Return how it is looked for, in words."""
        return ", ".join(_SENSES[each] if n == 0 else each for n, each in enumerate(self.check.senses))

    @property
    def how_often(self) -> str:
        """Return the interval in words."""
        return in_words(self.every.days)


@dataclass(frozen=True)
class RoomPlan:
    """One room: all its checks, and those due on a day."""

    rows: RoomRows
    lines: tuple[Line, ...]
    due: tuple[Line, ...]
    soon: tuple[Line, ...]
    guessed: bool  # nobody has said what the room is like

    @property
    def room(self) -> Any:
        """Return the room."""
        return self.rows.room

    @property
    def minutes(self) -> int:
        """Return how long the checks that are due will take, in minutes."""
        return minutes(len(self.due))

    @property
    def overdue_since(self) -> date | None:
        """Return the day the first of them was due."""
        return min((each.due for each in self.due), default=None)

    @property
    def next_due(self) -> date | None:
        """Return the day the next check is due."""
        return min((each.due for each in self.lines), default=None)

    @property
    def never_looked(self) -> bool:
        """Say whether nobody has ever looked at anything here."""
        return not self.rows.looks


def minutes(how_many: int) -> int:
    """Return how long so many checks take, in minutes."""
    return max(how_many * MINUTES_PER_CHECK, 1) if how_many else 0


def in_words(days: int) -> str:
    """Return an interval of the ladder in words."""
    names = {7: "every week", 14: "every two weeks", 30: "every month", 60: "every two months"}
    names |= {91: "every three months", 182: "twice a year", 365: "once a year"}
    return names.get(days, f"every {days} days")


def why(words: str, citation: Citation) -> Reason:
    """Return a reason for a page."""
    return reason(words, citation)


def _fill(rows: RoomRows) -> Fill:
    facts = rows.facts
    kinds, furniture = frozenset(rows.kinds), frozenset(rows.furniture)
    if facts is None:
        return Fill(kinds=kinds, furniture=furniture)
    return Fill(
        facts.floor, tuple(facts.outside_walls), facts.windows, tuple(facts.heat), tuple(facts.water),
        tuple(facts.equipment), kinds, furniture,
    )  # fmt: skip


def plan_room(rows: RoomRows, today: date) -> RoomPlan:
    """Return the check list of a room with what is due."""
    fill, (damp, cool) = _fill(rows), _measured(rows)
    found = tuple(_line(check, rows, fill, today, damp, cool) for check in checks_for(room_words(fill)))
    due = tuple(each for each in found if each.due <= today)
    soon = tuple(each for each in found if each.due <= today + timedelta(days=_SOON_DAYS))
    return RoomPlan(rows, found, due, soon, rows.facts is None)


def _measured(rows: RoomRows) -> tuple[bool | None, bool | None]:
    """Return whether the room was damp, and cool, in the last year; None where nobody measured."""
    air = rows.air
    if air is None:
        return None, None
    peak = None if air.mould_peak is None else max(air.mould_peak.values(), default=None)
    return judge_air(air.humidity.p95, air.temperature.max, peak, air.days_covered)


def plan_house(rows: Iterable[RoomRows], today: date) -> list[RoomPlan]:
    """Return the plans of all rooms."""
    return [plan_room(each, today) for each in rows]


def _line(check: Check, rows: RoomRows, fill: Fill, today: date, damp: bool | None, cool: bool | None) -> Line:
    last, fine_run, counting = None, 0, True
    since = today - timedelta(days=LATELY_DAYS)
    for day, answers in rows.looks:
        said = answers.get(check.code)
        if said not in (Answer.FINE, Answer.FOUND):
            continue
        last = last or day
        counting = counting and said == Answer.FINE
        fine_run += counting
    mine = [(day, closed) for code, day, closed in rows.findings if code == check.code]
    situation = Situation(
        open_findings=sum(closed is None for _, closed in mine),
        found_lately=any(closed is not None and closed >= since for _, closed in mine),
        risky_floor=fill.floor in RISKY_FLOORS,
        threatened=bool(check.threatens) and "pest" in check.topics and _eaten(check, fill),
        pests_near=any(code != check.code and _tells_of_insects(code) for code, _, _ in rows.findings),
        caught=rows.caught,
        damp=damp,
        cool=cool,
        fine_run=fine_run,
    )
    every = interval(check, situation)
    reasons = tuple(why(_sentence(each.words), each.citation) for each in every.reasons)
    return Line(check, last, every, due_on(last, every, today), reasons)


def _tells_of_insects(code: str) -> bool:
    return code in checks() and "insect" in checks()[code].topics


def _eaten(check: Check, fill: Fill) -> bool:
    """Say whether the room holds wool, fur or feather where the check is for what eats them."""
    return "protein" in check.threatens and bool(kinds_of(("protein",)) & fill.kinds)


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def lines_of(codes: Iterable[str]) -> list[Check]:
    """Return checks by their codes; a code that is no more is left out."""
    return [checks()[code] for code in codes if code in checks()]


def check_choices() -> list[tuple[str, str]]:
    """Return all checks for a form."""
    return [(check.code, check.name) for check in checks().values()]


def check_name(code: str) -> str:
    """Return a check's name; a code that is no more stands for itself."""
    return checks()[code].name if code in checks() else code


def named_findings(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings with the name of their check put on them."""
    found = list(findings)
    for each in found:
        each.name = check_name(each.check_code)
    return found


def tier_of(code: str, gravity: str) -> int:
    """Return how pressing a finding is: 1 people, 2 a running clock, 4 the rest."""
    tier = checks()[code].tier if code in checks() else 4
    return min(tier, 2) if gravity == "urgent" else 4 if gravity == "little" and tier == 2 else tier


def senses(check: Check) -> str:
    """Return how a check is looked for, in words."""
    return ", ".join(_SENSES[each] if n == 0 else each for n, each in enumerate(check.senses))


# -- what a finding means ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class CautionShown:
    """A caution for a page, with whom to call."""

    say: str
    call: tuple[str, ...]
    why: Reason


@dataclass(frozen=True)
class Meaning:
    """What a finding means, what to do first, and the caution that stands before it."""

    check: Check
    senses: str
    caution: CautionShown | None
    why: Reason
    threatened: frozenset[str]  # kinds
    threatened_words: str
    task: str  # the cleaning task that follows, or nothing
    may_freeze: bool


_TASKS = {
    "mould": "after-mould", "droppings": "after-droppings", "leaks": "after-water", "pipes": "after-water",
    "roof": "after-water", "ground-water": "after-water", "insects": "after-insects", "moth": "after-insects",
    "woodworm": "after-insects", "silverfish": "after-insects", "dust": "room", "metal-things": "metal",
    "hangers": "frames-and-paintings", "textile-boxes": "textiles", "leather-and-fur": "after-insects",
}  # fmt: skip
_FROZEN = frozenset({"insects", "moth", "woodworm", "silverfish", "leather-and-fur", "textile-boxes", "tenth-box"})


def caution(code: str) -> CautionShown | None:
    """Return a caution by its code."""
    found = cautions().get(code)
    if found is None:
        return None
    call = tuple(word("call", each) for each in found.call)
    return CautionShown(found.say, call, why("The usual caution.", found.citation))


def meaning(code: str) -> Meaning | None:
    """Return what a finding on a check means; None for a code that is no more."""
    check = checks().get(code)
    if check is None:
        return None
    kinds = kinds_of(check.threatens)
    return Meaning(
        check, senses(check), caution(check.caution), why(check.means, check.citation), kinds,
        _families(check.threatens), _TASKS.get(code, ""), code in _FROZEN,
    )  # fmt: skip


_GROUPS = {
    "protein": "wool, fur, feather and silk", "textile": "textiles", "paper": "paper and books",
    "photograph": "photographs and film", "film": "film", "wood": "wood", "metal": "metal", "leather": "leather",
    "plastic": "plastics", "framed": "pictures and frames", "dried": "dried and woven plants, feathers",
}  # fmt: skip


def _families(groups: Iterable[str]) -> str:
    codes = list(groups)
    return ", ".join(_GROUPS[each] for each in codes if each != "film" or "photograph" not in codes)


def group_words(codes: Iterable[str]) -> str:
    """Return groups of kinds in words."""
    return _families(codes)


def how_many_threatened(code: str, kinds: Mapping[str, int]) -> int:
    """Return how many of a room's things, counted by kind, a finding threatens."""
    check = checks().get(code)
    return sum(kinds.get(each, 0) for each in kinds_of(check.threatens)) if check is not None else 0


@cache
def kind_name(code: str) -> str:
    """Return a kind's name."""
    return kind(code).name


# -- cleaning ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Task:
    """A piece of cleaning for a page."""

    code: str
    name: str
    steps: tuple[str, ...]
    caution: CautionShown | None
    why: Reason


def tasks() -> list[Task]:
    """Return all cleaning tasks."""
    return [
        Task(each.code, each.name, each.steps, caution(each.caution), why("Why so.", each.citation))
        for each in cleaning.tasks()
    ]


def never_when_cleaning() -> tuple[tuple[str, ...], Reason]:
    """Return what cleaning never is."""
    lines, citation = cleaning.never()
    return lines, why("Why never.", citation)
