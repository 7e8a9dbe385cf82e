"""The days of change of a plan, and the plan drawn: spots downwards, weeks across."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

from conservation.on_show.models import DisplayPlan, PlannedShowing, Spot
from conservation.on_show.occasions.assess import Occasion
from conservation.on_show.plans import queries
from conservation.on_show.plans.assess import Asked

_LABEL, _WEEK_SPACE, _LANE, _TOP, _FOOT = 200.0, 820.0, 40.0, 46.0, 8.0
_SIGN = 7.0  # width of a letter in the drawing


@dataclass
class ChangeDay:
    """One day of change: what comes down, what goes up, what stays, and the days that matter until the next one."""

    week: int
    day: date
    down: list[PlannedShowing]
    up: list[PlannedShowing]
    stays: list[PlannedShowing]
    occasions: list[Occasion]

    @property
    def is_done(self) -> bool:
        return all(each.showing is not None for each in self.up) and all(
            each.showing is not None and each.showing.came_down is not None for each in self.down
        )


def change_days(plan: DisplayPlan, rows: Iterable[PlannedShowing], days: Iterable[Occasion]) -> list[ChangeDay]:
    """Return the days of a plan on which something goes up or comes down, in order."""
    rows = list(rows)
    weeks = sorted({each.from_week for each in rows} | {each.from_week + each.weeks for each in rows})
    ends = [*weeks[1:], plan.weeks][: len(weeks)]
    found = []
    for week, end in zip(weeks, ends, strict=True):
        first, last = queries.day_of(plan, week), queries.day_of(plan, end)
        up = [each for each in rows if each.from_week == week]
        stays = [each for each in rows if each.from_week < week < each.from_week + each.weeks]
        on = {each.thing_id for each in [*up, *stays]}
        near = [each for each in days if first <= each.day < last and any(thing.pk in on for thing in each.things)]
        down = [each for each in rows if each.from_week + each.weeks == week]
        found.append(ChangeDay(week, first, down, up, stays, near))
    return found


def week_choices(plan: DisplayPlan, asked: Asked, *, ends: bool) -> list[tuple[int, str]]:
    """Return the weeks at which a showing may begin or end, with their days in words."""
    problem = asked.problem
    changes = problem.get("change_weeks")
    weeks = range(plan.weeks + 1) if changes is None else sorted({0, *changes, plan.weeks})
    found = []
    for week in weeks:
        if (week == 0 and ends) or (week == plan.weeks and not ends):
            continue
        day = plan.starts_on + timedelta(weeks=week)
        found.append((week, f"{day.day} {day:%B %Y}"))
    return found


# -- the drawing ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Bar:
    """One showing as drawn: where, its short words, its full words, how it looks and where it leads."""

    x: float
    y: float
    width: float
    words: str
    title: str
    style: str
    url: str


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
    left: float = _LABEL
    top: float = _TOP


def grid(
    plan: DisplayPlan,
    rows: Iterable[PlannedShowing],
    spots: Iterable[Spot],
    days: Iterable[tuple[Occasion, bool]],
    today: date,
) -> Grid:
    """Draw a plan. ``days`` are the occasions with whether each is met."""
    per_week = _WEEK_SPACE / plan.weeks
    by_spot: dict[int, list[PlannedShowing]] = {}
    for each in rows:
        by_spot.setdefault(each.spot_id, []).append(each)
    lanes, y = [], _TOP
    for spot in sorted(spots, key=lambda each: (each.title, each.pk)):
        lane = Lane(_short(spot.title, _LABEL - 12), y, 0.0)
        ends: list[int] = []
        for each in sorted(by_spot.get(spot.pk, []), key=lambda row: (row.from_week, row.pk)):
            row = next((n for n, end in enumerate(ends) if end <= each.from_week), len(ends))
            ends[row : row + 1] = [each.from_week + each.weeks]
            lane.bars.append(_bar(plan, each, y + row * _LANE, per_week))
        lane.height = _LANE * max(1, len(ends))
        y += lane.height
        lanes.append(lane)
    end = queries.end_of(plan)
    months = []
    for back in range(plan.weeks * 7):
        day = plan.starts_on + timedelta(days=back)
        if day.day == 1 or (back == 0 and day.day < 22):
            months.append((_x(plan, day, per_week), f"{day:%b}"))
    changes = sorted({_LABEL + week * per_week for week in plan.change_weeks if week})
    marks = [(_x(plan, day.day, per_week), met, f"{day.day.day} {day.day:%B}: {day.title}") for day, met in days]
    return Grid(
        _LABEL + _WEEK_SPACE,
        y + _FOOT,
        lanes,
        months,
        [round(each, 1) for each in changes],
        marks,
        _x(plan, today, per_week) if plan.starts_on <= today < end else None,
    )


def _x(plan: DisplayPlan, day: date, per_week: float) -> float:
    return round(_LABEL + (day - plan.starts_on).days / 7 * per_week, 1)


def _bar(plan: DisplayPlan, each: PlannedShowing, y: float, per_week: float) -> Bar:
    width = each.weeks * per_week - 2
    style = "past" if each.showing and each.showing.came_down else "now" if each.showing else "planned"
    if each.is_copy:
        style += " copy"
    if each.pinned:
        style += " pinned"
    first, last = queries.day_of(plan, each.from_week), queries.day_of(plan, each.from_week + each.weeks)
    title = f"{each.thing.title}{' (a copy)' if each.is_copy else ''}, {first.day} {first:%b} to {last.day} {last:%b}"
    return Bar(
        round(_LABEL + each.from_week * per_week + 1, 1),
        y + 4,
        round(width, 1),
        _short(each.thing.title, width - 8),
        title,
        style,
        each.public_id,
    )


def _short(words: str, room: float) -> str:
    """Return words cut to a width in the drawing, with an ellipsis; nothing where not even three letters fit."""
    most = int(room / _SIGN)
    if len(words) <= most:
        return words
    return words[: most - 1].rstrip() + "…" if most >= 4 else ""
