"""Traps and their counts → what they say, when they are due, and where they lie on the drawn plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from conservation.reasons import Reason, reason
from conservation.rooms.rounds.queries import LATELY_DAYS
from conservation.rooms.traps.models import GROUPS, Trap
from conservation.science import traps as science

PLAN_WIDTH = 288  # of the plan in pixels of the page, on every screen: a tap is read without scripts
_PLAN_MOST = 480
_DEFAULT_MM = (4000.0, 5000.0)  # a room nobody has measured; our default
_EDGE = 14
_LEVELS = {"quiet": "nothing", "some": "some", "look": "look into it"}
_TRENDS = {"unknown": "", "falling": "fewer than before", "steady": "as before", "rising": "more than before"}
_FEW_MONTHS = 6
LATELY = timedelta(days=LATELY_DAYS)


@dataclass(frozen=True)
class GroupShown:
    """One group of animals for a page: what the last count says of it."""

    code: str
    name: str
    line: str
    animals: int
    level: str
    level_words: str
    trend: str
    check: str
    per_month: float


@dataclass(frozen=True)
class TrapShown:
    """One trap for a page."""

    trap: Trap
    groups: tuple[GroupShown, ...]
    count_due: date
    renew_due: date
    x: float
    y: float

    @property
    def alarming(self) -> tuple[GroupShown, ...]:
        """Return the groups over their threshold."""
        return tuple(each for each in self.groups if each.level == "look")

    @property
    def last(self) -> Any:
        """Return the last count."""
        counts = list(self.trap.counts.all())
        return counts[-1] if counts else None


@dataclass(frozen=True)
class Plan:
    """The drawn plan of a room: its outline in pixels of the page, and its doors and traps on it."""

    width: int
    height: int
    measured: bool
    traps: tuple[TrapShown, ...]
    chosen: tuple[float, float] | None = None

    @property
    def inner_width(self) -> int:
        return self.width - 2 * _EDGE

    @property
    def inner_height(self) -> int:
        return self.height - 2 * _EDGE

    edge: int = _EDGE


def plan(room: Any, traps: Sequence[Trap], chosen: tuple[int, int] | None = None) -> Plan:
    """Return the plan of a room with its traps; ``chosen`` is a place in thousandths that is drawn as chosen."""
    facts = getattr(room, "room_facts", None)
    width_mm, length_mm = (facts.width_mm, facts.length_mm) if facts else (None, None)
    measured = bool(width_mm and length_mm)
    across, along = (width_mm, length_mm) if measured else _DEFAULT_MM
    inner = PLAN_WIDTH - 2 * _EDGE
    height = min(max(round(inner * (along or 1) / (across or 1)), 120), _PLAN_MOST) + 2 * _EDGE
    shown = tuple(show(each, height) for each in traps)
    spot = None if chosen is None else _place(*chosen, height)
    return Plan(PLAN_WIDTH, height, measured, shown, spot)


def _place(across: int, along: int, height: int) -> tuple[float, float]:
    return (
        _EDGE + across / 1000 * (PLAN_WIDTH - 2 * _EDGE),
        _EDGE + along / 1000 * (height - 2 * _EDGE),
    )


def tapped(x: int, y: int, height: int) -> tuple[int, int]:
    """Return where on the plan a tap was, in thousandths of the room, from its pixels."""
    across = (x - _EDGE) / (PLAN_WIDTH - 2 * _EDGE)
    along = (y - _EDGE) / (height - 2 * _EDGE)
    return round(min(max(across, 0), 1) * 1000), round(min(max(along, 0), 1) * 1000)


def show(trap: Trap, height: int = 0) -> TrapShown:
    """Return a trap with what its counts say and when it is due."""
    counts = [science.Count(each.counted_on, each.since, each.animals) for each in trap.counts.all()]
    last = max((each.day for each in counts), default=trap.placed_on)
    groups = tuple(
        GroupShown(
            each.group.code, each.group.name, each.group.line, each.animals, each.level, _LEVELS[each.level],
            _TRENDS[each.trend], each.group.check, each.per_month,
        )
        for each in science.judge(counts)
    )  # fmt: skip
    x, y = _place(trap.across, trap.along, height) if height else (0.0, 0.0)
    renew = science.replace_on(trap.fresh_since, lure=trap.lure)
    return TrapShown(trap, groups, science.count_on(last), renew, round(x, 1), round(y, 1))


def groups() -> tuple[science.InsectGroup, ...]:
    """Return the five groups, with what they look like and from how many on to look."""
    return science.groups()


def placing() -> list[tuple[str, Reason]]:
    """Return where traps go, and who says so."""
    return [(words, reason(words, citation)) for words, citation in science.placing()]


def threshold_why() -> list[Reason]:
    """Return where thresholds and times come from."""
    return [
        reason("From how many animals in 30 days on a trap asks for a look.", science.threshold_citation()),
        reason(f"Looked at every {science.rule('count_every'):.0f} days.", science.rule_citation("count_every")),
        reason(f"Renewed after {science.rule('replace_after'):.0f} days.", science.rule_citation("replace_after")),
        reason(f"A lure is renewed after {science.rule('lure_after'):.0f} days.", science.rule_citation("lure_after")),
    ]


# -- the trend, drawn ----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Bar:
    """One count of one group in a chart: a bar with its number."""

    x: float
    y: float
    width: float
    height: float
    number: int
    over: bool


@dataclass(frozen=True)
class Row:
    """The counts of one group over time."""

    name: str
    code: str
    base: float
    line: float
    bars: tuple[Bar, ...]


@dataclass(frozen=True)
class Chart:
    """Counts of a trap, or of a room’s traps together, over time: a row of bars for each group."""

    width: int
    height: int
    rows: tuple[Row, ...]
    days: tuple[tuple[float, date], ...]
    renewals: tuple[float, ...]


_STEP, _ROW, _LEFT, _TOP = 48, 56, 84, 10


def chart(trap: Trap) -> Chart | None:
    """Return the last counts of a trap as bars, a row for each group; None where it was never counted."""
    counts = list(trap.counts.all())[-12:]
    if not counts:
        return None
    step = _STEP
    rows = []
    for n, group in enumerate(science.groups()):
        base = _TOP + (n + 1) * _ROW - 14
        most = max([each.animals[group.code] for each in counts] + [4])
        bars = []
        for m, each in enumerate(counts):
            number = each.animals[group.code]
            tall = number / most * (_ROW - 30)
            rate = science.per_month(science.Count(each.counted_on, each.since, each.animals), group.code)
            bars.append(
                Bar(round(_LEFT + m * step + step * 0.2, 1), round(base - tall, 1), round(step * 0.6, 1),
                    round(tall, 1), number, rate >= group.per_month)
            )  # fmt: skip
        rows.append(Row(group.name, group.code, base, base - (_ROW - 30), tuple(bars)))
    marks = tuple((round(_LEFT + m * step + step / 2, 1), each.counted_on) for m, each in enumerate(counts))
    renewals = tuple(round(_LEFT + (m + 1) * step, 1) for m, each in enumerate(counts) if each.renewed)
    return Chart(_LEFT + max(len(counts), 4) * step + 10, _TOP + len(rows) * _ROW + 26, tuple(rows), marks, renewals)


def sums(traps: Sequence[Trap]) -> list[tuple[date, dict[str, int]]]:
    """Return what all traps of a room caught by the names of groups, by day of counting, the latest first."""
    found: dict[date, dict[str, int]] = {}
    for trap in traps:
        for each in trap.counts.all():
            row = found.setdefault(each.counted_on, dict.fromkeys(GROUPS, 0))
            for name, number in each.animals.items():
                row[name] += number
    named = {each.code: each.name for each in groups()}
    latest = sorted(found.items(), reverse=True)[:_FEW_MONTHS]
    return [(day, {named[code]: number for code, number in row.items()}) for day, row in latest]
