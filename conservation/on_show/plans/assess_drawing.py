"""A plan drawn: spots downwards, weeks across; wide for a desk and for paper, narrow for a phone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

from conservation.on_show.models import DisplayPlan, PlannedShowing, Spot
from conservation.on_show.occasions.assess import Occasion
from conservation.on_show.plans import queries

_LANE, _TOP, _FOOT = 40.0, 46.0, 8.0
_SIGN, _BOLD_SIGN = 7.0, 8.0  # width of a letter in the drawing


@dataclass(frozen=True)
class Shape:
    """The room of a drawing: for names beside, for all weeks, for names above spots, between names of months."""

    name: str
    beside: float
    weeks: float
    above: float = 0.0
    month: float = 30.0


WIDE, NARROW = Shape("wide", 200.0, 820.0), Shape("narrow", 0.0, 336.0, above=30.0, month=45.0)


@dataclass(frozen=True)
class Bar:
    """One showing as drawn: where, its short words, its full words, and how it looks."""

    x: float
    y: float
    width: float
    words: str
    title: str
    style: str


@dataclass
class Lane:
    """A spot in the drawing: its name, where its rows are, its bars."""

    title: str
    y: float
    height: float
    bars: list[Bar] = field(default_factory=list)


@dataclass
class Grid:
    """A plan drawn: spots × weeks, days of change as lines, days that matter above."""

    width: float
    height: float
    lanes: list[Lane]
    months: list[tuple[float, str]]
    changes: list[float]
    marks: list[tuple[float, bool, str]]
    today: float | None
    name: str


def grid(
    plan: DisplayPlan,
    rows: Iterable[PlannedShowing],
    spots: Iterable[Spot],
    days: Iterable[tuple[Occasion, bool]],
    today: date,
    shape: Shape = WIDE,
) -> Grid:
    """Draw a plan. ``days`` are the occasions with whether each is met."""
    per_week = shape.weeks / plan.weeks
    by_spot: dict[int, list[PlannedShowing]] = {}
    for each in rows:
        by_spot.setdefault(each.spot_id, []).append(each)
    lanes, y = [], _TOP
    for spot in sorted(spots, key=lambda each: (each.title, each.pk)):
        lane = Lane(_short(spot.title, (shape.weeks if shape.above else shape.beside) - 12, _BOLD_SIGN), y, 0.0)
        ends: list[int] = []
        for each in sorted(by_spot.get(spot.pk, []), key=lambda row: (row.from_week, row.pk)):
            row = next((n for n, end in enumerate(ends) if end <= each.from_week), len(ends))
            ends[row : row + 1] = [each.from_week + each.weeks]
            lane.bars.append(_bar(plan, each, shape, y + shape.above + row * _LANE))
        lane.height = shape.above + _LANE * max(0 if shape.above else 1, len(ends))
        y += lane.height
        lanes.append(lane)
    end = queries.end_of(plan)
    width, free = shape.beside + shape.weeks, 0.0
    months: list[tuple[float, str]] = []
    for back in range(plan.weeks * 7):
        day = plan.starts_on + timedelta(days=back)
        if day.day == 1 or (back == 0 and day.day < 22):
            x = _x(plan, day, shape)
            months.append((x, f"{day:%b}" if x >= free and x + shape.month <= width else ""))
            free = x + shape.month if months[-1][1] else free
    changes = sorted({shape.beside + week * per_week for week in plan.change_weeks if week})
    marks = [(_x(plan, day.day, shape), met, f"{day.day.day} {day.day:%B}: {day.title}") for day, met in days]
    return Grid(
        width,
        y + _FOOT,
        lanes,
        months,
        [round(each, 1) for each in changes],
        marks,
        _x(plan, today, shape) if plan.starts_on <= today < end else None,
        shape.name,
    )


def _x(plan: DisplayPlan, day: date, shape: Shape) -> float:
    return round(shape.beside + (day - plan.starts_on).days / 7 * shape.weeks / plan.weeks, 1)


def _bar(plan: DisplayPlan, each: PlannedShowing, shape: Shape, y: float) -> Bar:
    per_week = shape.weeks / plan.weeks
    width = each.weeks * per_week - 2
    style = "past" if each.showing and each.showing.came_down else "now" if each.showing else "planned"
    if each.is_copy:
        style += " copy"
    if each.pinned:
        style += " pinned"
    first, last = queries.day_of(plan, each.from_week), queries.day_of(plan, each.from_week + each.weeks)
    title = f"{each.thing.title}{' (a copy)' if each.is_copy else ''}, {first.day} {first:%b} to {last.day} {last:%b}"
    return Bar(
        round(shape.beside + each.from_week * per_week + 1, 1),
        y + 4,
        round(width, 1),
        _short(each.thing.title, width - 8),
        title,
        style,
    )


def _short(words: str, room: float, sign: float = _SIGN) -> str:
    """Return words cut to a width in the drawing, with an ellipsis; nothing where not even three letters fit."""
    most = int(room / sign)
    if len(words) <= most:
        return words
    return words[: most - 1].rstrip() + "…" if most >= 4 else ""
