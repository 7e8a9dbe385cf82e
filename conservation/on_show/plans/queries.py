"""Reading plans, and what a plan is made from: spots, things that may go up, what hangs and hung."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, Exists, OuterRef, Q
from django.http import Http404
from django.utils import timezone

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.keeping.models import Errand
from archive.pictures.models import Picture
from archive.things.models import Loan, Standing, Thing
from conservation.on_show.models import BarredSpot, DisplayPlan, PlannedShowing, Showing, Spot, ThingLight

KIND = "on_show.plan"  # of the errand that works a plan out
NO_PLAN = "No plan was found"  # begins what an errand says that ended without one
MATTERS = 4  # from this significance on a thing is thought of for the wall without being named


@dataclass(frozen=True)
class Candidate:
    """A thing that may go up in a plan, with what the keeper says of it."""

    thing: Thing
    own: ThingLight | None
    has_picture: bool
    wish: int | None


def plans(reader: Account | None) -> list[DisplayPlan]:
    """Return the plans, the latest first."""
    found = DisplayPlan.objects.visible_to(reader).present().annotate(how_many=Count("showings"))
    return list(found.order_by("-starts_on", "-pk"))


def find_plan(public_id: str, reader: Account | None) -> DisplayPlan:
    """Return a plan that this reader may see.

    Raises:
        Http404: there is none for this reader.
    """
    found: DisplayPlan | None = DisplayPlan.objects.visible_to(reader).filter(public_id=public_id).first()
    if found is None:
        raise Http404
    return found


def accepted_for(reader: Account | None, day: date) -> DisplayPlan | None:
    """Return the accepted plan that a day lies in; of several the one accepted last."""
    accepted = DisplayPlan.objects.visible_to(reader).present().filter(accepted_at__isnull=False, starts_on__lte=day)
    rows = accepted.order_by("-accepted_at")
    return next((each for each in rows if day < end_of(each)), None)


def end_of(plan: DisplayPlan) -> date:
    """Return the day after a plan's last."""
    return plan.starts_on + timedelta(weeks=plan.weeks)


def day_of(plan: DisplayPlan, week: int) -> date:
    """Return the first day of a week of a plan."""
    return plan.starts_on + timedelta(weeks=week)


def week_now(plan: DisplayPlan, today: date) -> int:
    """Return the first week of a plan that begins today or later, within 0 and its weeks."""
    return min(max(0, -((plan.starts_on - today).days // 7)), plan.weeks)


def showings_of(plan: DisplayPlan) -> list[PlannedShowing]:
    """Return the showings of a plan with their things, spots and what came of them; one query."""
    rows = PlannedShowing.objects.filter(plan=plan)
    return list(rows.select_related("thing", "spot", "showing").order_by("from_week", "spot__title", "pk"))


def find_showing(plan: DisplayPlan, public_id: str) -> PlannedShowing:
    """Return one showing of a plan.

    Raises:
        Http404: the plan has no such showing.
    """
    rows = PlannedShowing.objects.filter(plan=plan, public_id=public_id)
    found: PlannedShowing | None = rows.select_related("thing", "spot", "showing").first()
    if found is None:
        raise Http404
    return found


def errand_of(plan: DisplayPlan) -> Errand | None:
    """Return the latest errand that works, or worked, a plan out."""
    return Errand.objects.filter(kind=KIND, payload__plan=plan.public_id).order_by("-created_at", "-pk").first()


def went_wrong(errand: Errand) -> bool:
    """Say whether an errand ended without a plan, though nobody stopped it."""
    return errand.state == Errand.State.FAILED or errand.message.startswith(NO_PLAN)


def spots_for(reader: Account | None) -> list[Spot]:
    """Return the spots in use with their readings; two queries."""
    spots = Spot.objects.visible_to(reader).present().filter(in_use=True).order_by("title", "pk")
    return list(spots.prefetch_related("lux_readings"))


def candidates(
    reader: Account | None, of_days: Iterable[int], must: Iterable[int], left_out: Iterable[str], most: int, end: date
) -> list[Candidate]:
    """Return things that may go up: those that must be in it, then by wish, significance and whether a day is theirs.

    Things that the keeper left out, never shows, lent, gave away, must give back before ``end`` or keeps from being
    seen (at home, by relatives, or until a day) are not among them.
    """
    of_days, must = set(of_days), set(must)
    lent = Loan.objects.filter(thing=OuterRef("pk"), returned_on=None)
    pictured = Picture.objects.filter(thing=OuterRef("pk"))
    things = Thing.objects.visible_to(reader).present().filter(standing=Standing.KEPT, show_home=True)
    shut = Q(access=ReadAccess.KEEPER) | Q(closed_until__gt=today()) | Q(borrowed_until__lt=end)
    wanted = Q(light__wish__isnull=False) | Q(significance__gte=MATTERS) | Q(pk__in=of_days) | Q(pk__in=must)
    rows = (
        things.filter(wanted, Q(pk__in=must) | ~Exists(lent))
        .filter(Q(pk__in=must) | ~Q(public_id__in=list(left_out)))
        .exclude(~Q(pk__in=must) & Q(light__may_be_shown="never"))
        .filter(Q(pk__in=must) | Q(pk__in=things.exclude(shut).values("pk")))
        .annotate(has_picture=Exists(pictured))
        .select_related("light", "box")
    )
    found = []
    for thing in rows:
        own = getattr(thing, "light", None)
        found.append(Candidate(thing, own, bool(thing.has_picture), own.wish if own else None))
    found.sort(
        key=lambda each: (
            each.thing.pk not in must, -(each.wish or 0), -(each.thing.significance or 0),
            each.thing.pk not in of_days, each.thing.serial_id,
        )
    )  # fmt: skip
    return found[: max(most, len(must))]


def happened(first: date, end: date) -> list[Showing]:
    """Return what was or is on show between two days, the earliest first; two queries."""
    rows = Showing.objects.filter(went_up__lt=end).filter(Q(came_down__isnull=True) | Q(came_down__gt=first))
    return list(rows.select_related("thing", "spot").prefetch_related("planned").order_by("went_up", "pk"))


def last_down(thing_ids: Iterable[int]) -> dict[int, date]:
    """Return the day on which each of some things last came down; copies do not count; one query."""
    found: dict[int, date] = {}
    rows = Showing.objects.filter(thing__in=list(thing_ids), came_down__isnull=False, is_copy=False)
    for thing_id, day in rows.order_by("came_down").values_list("thing_id", "came_down"):
        if day is not None:
            found[thing_id] = day
    return found


def barred(thing_ids: Iterable[int]) -> dict[int, set[int]]:
    """Return the spots that things are barred from, by thing; one query."""
    found: dict[int, set[int]] = {}
    for thing_id, spot_id in BarredSpot.objects.filter(thing__in=list(thing_ids)).values_list("thing_id", "spot_id"):
        found.setdefault(thing_id, set()).add(spot_id)
    return found


def things_by_address(addresses: Iterable[str], reader: Account | None) -> dict[str, Thing]:
    """Return things that the reader may see by their addresses; one query."""
    rows = Thing.objects.visible_to(reader).filter(public_id__in=list(addresses)).select_related("box")
    return {each.public_id: each for each in rows}


def spots_by_address(addresses: Iterable[str]) -> dict[str, Spot]:
    """Return spots by their addresses; one query."""
    return {each.public_id: each for each in Spot.objects.filter(public_id__in=list(addresses))}


def next_changeover(plan: DisplayPlan, rows: Iterable[PlannedShowing], today: date) -> int | None:
    """Return the first week of change on which something is still to be done; None when there is nothing left."""
    weeks = []
    for each in rows:
        if each.showing is None:
            weeks.append(each.from_week)
        elif each.showing.came_down is None:
            weeks.append(each.from_week + each.weeks)
    # What was not ticked on its day is still to be done, but the plan's end is the next plan's beginning.
    open_ = sorted({week for week in weeks if week < plan.weeks})
    passed = [week for week in open_ if day_of(plan, week) <= today]
    return passed[-1] if passed else next(iter(open_), None)


def today() -> date:
    """Return the day it is where the archive is kept."""
    return timezone.localdate()
