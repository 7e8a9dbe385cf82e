"""Writing plans: begun, worked out, changed by hand, accepted; and the errand that works one out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.keeping import actions as keeping
from archive.keeping.models import Errand
from archive.things.models import Thing
from conservation.on_show.models import DisplayPlan, PlannedShowing, Showing, Spot, ThingLight
from conservation.on_show.plans import queries

_COPY = ":copy"


def add_plan(who: Account, values: Mapping[str, Any]) -> DisplayPlan:
    """Begin a plan."""
    with changing(who, "plans.add"):
        plan = DisplayPlan(**values)
        plan.save()
    return plan


def change_plan(who: Account, plan: DisplayPlan, values: Mapping[str, Any]) -> None:
    """Change what is asked of a plan."""
    with changing(who, "plans.edit"):
        _set(plan, **values)


def _set(row: Any, **values: Any) -> None:
    for name, value in values.items():
        setattr(row, name, value)
    touch(row)
    row.save()


def wish(who: Account, wishes: Mapping[Thing, int | None], plan: DisplayPlan, left_out: Iterable[str]) -> None:
    """Record how gladly things would be seen, and which are left out of a plan."""
    with changing(who, "plans.wish"):
        for thing, value in wishes.items():
            row = ThingLight.objects.filter(thing=thing).first()
            if row is None:
                if value is None:
                    continue
                row = ThingLight(thing=thing, wish=value)
                row.save()
            elif row.wish != value:
                _set(row, wish=value)
        if sorted(left_out) != sorted(plan.left_out):
            _set(plan, left_out=sorted(left_out))


def send(who: Account, plan: DisplayPlan, stored: Mapping[str, Any]) -> Errand:
    """Have a plan worked out in the background; while one such errand is under way it is enough."""
    under_way = queries.errand_of(plan)
    if under_way is not None and not under_way.is_over:
        return under_way
    payload = {"plan": plan.public_id, "stored": dict(stored)}
    return keeping.send_errand(who, queries.KIND, f"Working out “{plan.title}”"[:200], payload)


def stop(plan: DisplayPlan) -> None:
    """Ask the errand of a plan to stop; what it has found by then is kept."""
    errand = queries.errand_of(plan)
    if errand is not None:
        keeping.ask_stop(errand)


def take_answer(who: Account | None, plan: DisplayPlan, stored: Mapping[str, Any], answer: Mapping[str, Any]) -> None:
    """Set down what was worked out: the answer, and its showings in place of those that were planned before.

    What has happened and what is pinned stays; a showing that happened without a plan comes into it.
    """
    problem, about = stored["input"], stored["about"]
    settled = {
        (each["thing"], each["spot"], each["from_week"], each["weeks"]): known
        for each, known in zip(problem["fixed"], about["fixed"], strict=True)
    }
    with changing(who, "plans.answer"):
        plan.refresh_from_db()
        _set(plan, problem=dict(stored), answer=dict(answer), accepted_at=None)
        rows = {each.public_id: each for each in queries.showings_of(plan)}
        if answer["status"] == "infeasible":
            return
        for each in rows.values():
            if each.showing is None and not each.pinned:
                each.delete()
        names = {each["thing"].removesuffix(_COPY) for each in answer["showings"]}
        things = {each.public_id: each for each in Thing.objects.filter(public_id__in=names)}
        spots = queries.spots_by_address({each["spot"] for each in answer["showings"]})
        actual = {
            each.public_id: each
            for each in Showing.objects.filter(
                public_id__in=[known["showing"] for known in settled.values() if known["showing"]]
            )
        }
        for each in answer["showings"]:
            known = settled.get((each["thing"], each["spot"], each["from_week"], each["weeks"]))
            row = rows.get(known["planned"]) if known else None
            if row is not None:
                if (row.from_week, row.weeks) != (each["from_week"], each["weeks"]):
                    _set(row, from_week=each["from_week"], weeks=each["weeks"])
                continue
            thing = things.get(each["thing"].removesuffix(_COPY))
            spot = spots.get(each["spot"])
            showing = actual.get(known["showing"]) if known else None
            # What was destroyed while the plan was worked out is not in it.
            if (
                thing is None
                or spot is None
                or (showing is not None and PlannedShowing.objects.filter(plan=plan, showing=showing).exists())
            ):
                continue
            PlannedShowing(
                plan=plan, thing=thing, spot=spot, from_week=each["from_week"], weeks=each["weeks"],
                is_copy=each["thing"].endswith(_COPY), showing=showing,
            ).save()  # fmt: skip


def put_in(
    who: Account, plan: DisplayPlan, thing: Thing, spot: Spot, week: int, weeks: int, *, is_copy: bool, pinned: bool
) -> PlannedShowing:
    """Add a showing to a plan by hand."""
    with changing(who, "plans.put_in"):
        row = PlannedShowing(
            plan=plan, thing=thing, spot=spot, from_week=week, weeks=weeks, is_copy=is_copy, pinned=pinned
        )
        row.save()
    return row


def move(who: Account, row: PlannedShowing, spot: Spot, week: int, weeks: int, *, pinned: bool) -> None:
    """Change a showing of a plan by hand."""
    with changing(who, "plans.move"):
        _set(row, spot=spot, from_week=week, weeks=weeks, pinned=pinned)


def take_out(who: Account, row: PlannedShowing) -> None:
    """Take a showing that has not happened out of a plan."""
    with changing(who, "plans.take_out"):
        row.delete()


def accept(who: Account, plan: DisplayPlan) -> None:
    """Accept a plan: its changeovers become jobs."""
    with changing(who, "plans.accept"):
        _set(plan, accepted_at=timezone.now())
