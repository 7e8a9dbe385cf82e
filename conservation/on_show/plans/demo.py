"""The demo household’s days, wishes and its plan of the year, accepted, with what hung and hangs in it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any

from archive.access.models import Account
from archive.keeping.errands import child
from archive.things.models import Thing
from conservation.on_show.models import DisplayPlan, OwnOccasion, Spot
from conservation.on_show.occasions.actions import add_own
from conservation.on_show.plans import actions, assess, queries

_SECONDS = 1.0


def build(household: Mapping[str, Any], keeper: Account, draw: Callable[[str, int, str], Any]) -> None:
    """Record them where the demo has spots; what is there already stays as it is.

    The plan is worked out in a process of its own, so that the solver does not stay in memory.
    """
    things = {thing.title: thing for thing in Thing.objects.all()}
    if not OwnOccasion.objects.exists():
        for row in household.get("own_day", []):
            values = {"title": row["title"], "day": row["day"], "weight": row["weight"], "note": row.get("note", "")}
            add_own(keeper, values, [things[title] for title in row["things"]])
    if DisplayPlan.objects.exists() or not Spot.objects.exists():
        return
    wishes: dict[Thing, int | None] = {
        things[title]: row["wish"] for row in household.get("wished", []) for title in row["things"]
    }
    for row in household.get("plan", []):
        today = queries.today()
        starts_on = today - timedelta(days=today.weekday(), weeks=row["weeks_back"])
        asked_of = {"title": row["title"], "starts_on": starts_on, "change_weeks": row["changes"], "note": row["note"]}
        plan = actions.add_plan(keeper, {**asked_of, "changeovers": len(row["changes"])})
        actions.wish(keeper, wishes, plan, ())
        asked = assess.build(plan, keeper, today)
        answer = child.work_out("rotation", {**asked.problem, "limit_s": _SECONDS})
        actions.take_answer(keeper, plan, asked.stored, answer)
        plan.refresh_from_db()
        actions.accept(keeper, plan)
