"""What plans add to other pages: the next day of change among the jobs, and their part of the demo household."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import timedelta
from typing import Any

from django.urls import reverse

from archive.access.models import Account
from archive.extend import Extension, Job
from conservation.on_show.models import DisplayPlan, PlannedShowing
from conservation.on_show.plans import (
    errand,  # noqa: F401 - says how a plan is worked out
    queries,
)

_AHEAD = timedelta(days=14)  # so long before its day a changeover becomes a job
_MINUTES_EACH, _MINUTES_AT_LEAST = 12, 15  # to take one thing down or put one up with care; our defaults


def jobs(user: Account | None) -> Iterable[Job]:
    """Return the next day of change of the plan accepted for now, and of the one for soon, from two weeks before it."""
    if user is None or not user.is_keeper:
        return
    today = queries.today()
    accepted = [queries.accepted_for(user, day) for day in (today, today + _AHEAD)]
    for plan in {each.pk: each for each in accepted if each is not None}.values():
        rows = queries.showings_of(plan)
        week = queries.next_changeover(plan, rows, today)
        if week is not None and queries.day_of(plan, week) <= today + _AHEAD:
            yield _job(plan, rows, week)


def _job(plan: DisplayPlan, rows: Sequence[PlannedShowing], week: int) -> Job:
    down = sum(each.from_week + each.weeks == week for each in rows)
    up = sum(each.from_week == week for each in rows)
    return Job(
        words=f"Change what is on show: {down} down, {up} up",
        url=reverse("on_show:changeover", args=[plan.public_id, week]),
        minutes=max(_MINUTES_AT_LEAST, _MINUTES_EACH * (down + up)),
        due=queries.day_of(plan, week),
        benefit=3.0,
        why="The plan you accepted has a day of change then; what comes down has had its light.",
        key=f"on_show.changeover/{plan.public_id}/{week}",
        sort="on_show.changeover",
        first="Print the sheet and lay the empty boxes ready.",
        things=max(1, down + up),
    )


def demo(household: Mapping[str, Any], keeper: Account, draw: Callable[[str, int, str], Any]) -> None:
    """Record the demo household’s days, wishes and plan."""
    from conservation.on_show.plans.demo import build

    build(household, keeper, draw)


PLANS = Extension(subject="on_show_plans", jobs=jobs, demo=demo)
