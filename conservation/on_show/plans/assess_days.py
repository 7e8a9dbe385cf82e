"""The days of change of a plan: what goes up and comes down, and at which weeks a showing may begin and end."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from conservation.on_show.models import DisplayPlan, PlannedShowing
from conservation.on_show.occasions.assess import Occasion
from conservation.on_show.plans import queries
from conservation.on_show.plans.assess import Asked


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
