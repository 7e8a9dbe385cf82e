"""Reading spots, what hangs there, and the light that things have had."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import Prefetch, Q
from django.http import Http404

from archive.access.models import Account
from archive.boxes.models import Box
from archive.pictures.models import Picture
from archive.things.models import Loan, Standing, Thing
from conservation.on_show.models import BarredSpot, LightUse, LuxReading, Showing, ShowPolicy, Spot, ThingLight

DAYS_OF_A_YEAR = 365


@dataclass(frozen=True)
class SpotRow:
    """A spot and the showings that are there now and that the reader may see."""

    spot: Spot
    now: list[Showing] = field(default_factory=list)


def find_spot(public_id: str, reader: Account | None) -> Spot:
    """Return a spot that this reader may see.

    Raises:
        Http404: there is none, or none for this reader.
    """
    spot: Spot | None = Spot.objects.visible_to(reader).filter(public_id=public_id).first()
    if spot is None:
        raise Http404
    return spot


def seen_showings(reader: Account | None) -> Any:
    """Return the showings of things that this reader may see, with thing, spot and the thing's first picture."""
    things = Thing.objects.visible_to(reader).order_by().values("pk")
    pictures = Prefetch("thing__pictures", queryset=Picture.objects.order_by("position", "pk"))
    return Showing.objects.filter(thing__in=things).select_related("thing", "spot").prefetch_related(pictures)


def spot_rows(reader: Account | None, room: Box | None = None) -> list[SpotRow]:
    """Return the spots that this reader may see, or those of a room, those in use first, with what is there now.

    Their readings come with them.
    """
    spots = list(
        Spot.objects.visible_to(reader).present().prefetch_related("lux_readings")
        .order_by("-in_use", "title", "pk")
    )  # fmt: skip
    if room is not None:
        spots = [spot for spot in spots if spot.room_id == room.pk]
    here: dict[int, list[Showing]] = {}
    for showing in seen_showings(reader).filter(came_down__isnull=True, spot__in=spots).order_by("went_up", "pk"):
        here.setdefault(showing.spot_id, []).append(showing)
    return [SpotRow(spot, here.get(spot.pk, [])) for spot in spots]


def showings_at(spot: Spot, reader: Account | None) -> list[Showing]:
    """Return what is and was at a spot, the latest first."""
    return list(seen_showings(reader).filter(spot=spot))


def open_showing(thing: Thing) -> Showing | None:
    """Return where a thing is on show now; the one that began last, should two records have been united."""
    found = Showing.objects.filter(thing=thing, came_down__isnull=True).select_related("spot")
    return found.order_by("-went_up", "-pk").first()


def days_between(start: date, end: date) -> int:
    """Return the days of light from one day to another; a day begun counts, so that it is at least one."""
    return max(1, (end - start).days)


def lxh_of(showing: Showing, since: date, until: date) -> float:
    """Return the lux hours that a showing cost between two days (``until`` not included); nothing for a copy.

    A showing that is over counts with the sum set down when it ended, by its share of days; an open one with the
    light believed when it went up.
    """
    if showing.is_copy:
        return 0.0
    end = showing.came_down or until
    whole = days_between(showing.went_up, end)
    first, last = max(showing.went_up, since), min(max(end, showing.went_up), until)
    inside = max(0, (last - first).days)
    if showing.came_down == showing.went_up and since <= showing.went_up < until:
        inside = 1
    if showing.came_down is not None and showing.lxh is not None:
        return showing.lxh * min(1.0, inside / whole)
    return (showing.lux or 0.0) * (showing.hours_per_day or 0.0) * inside


def lxh_in(showings: Iterable[Showing], uses: Iterable[LightUse], since: date, until: date) -> float:
    """Return the lux hours of showings and other light from ``since`` up to, not including, ``until``."""
    shown = sum(lxh_of(each, since, until) for each in showings if each.went_up < until)
    return shown + sum(each.lxh for each in uses if since <= each.day < until)


def used_lxh(thing_ids: Iterable[int], since: date, until: date) -> dict[int, float]:
    """Return the lux hours that things had from ``since`` up to, not including, ``until``: on show and otherwise.

    Every thing asked for has an entry, 0 where nothing is recorded; copies cost nothing; two queries.
    """
    found = dict.fromkeys(thing_ids, 0.0)
    showings = Showing.objects.filter(Q(came_down__isnull=True) | Q(came_down__gte=since), thing__in=list(found))
    for showing in showings.filter(went_up__lt=until):
        found[showing.thing_id] += lxh_of(showing, since, until)
    for thing_id, lxh in LightUse.objects.filter(thing__in=list(found), day__gte=since, day__lt=until).values_list(
        "thing_id", "lxh"
    ):
        found[thing_id] += lxh
    return found


def policy() -> ShowPolicy:
    """Return what the keeper chose for everything on show; before that, the defaults."""
    return ShowPolicy.objects.filter(pk=1).first() or ShowPolicy(pk=1)


def own_light(thing_ids: Iterable[int]) -> dict[int, ThingLight]:
    """Return what the keeper says of the light of things, by thing; one query."""
    return {each.thing_id: each for each in ThingLight.objects.filter(thing__in=list(thing_ids))}


def bar_of(thing: Thing, spot: Spot) -> BarredSpot | None:
    """Return that a thing is barred from a spot, where it is."""
    return BarredSpot.objects.filter(thing=thing, spot=spot).first()


def not_here(things: Sequence[Thing]) -> dict[int, str]:
    """Return in a sentence, by thing, why things are not here to go up: withdrawn, gone or lent; one query."""
    found = {}
    for loan in Loan.objects.filter(thing__in=[each.pk for each in things], returned_on=None).select_related("person"):
        found[loan.thing_id] = f"It is {loan}."
    for thing in things:
        if thing.withdrawn_at is not None:
            found[thing.pk] = "It is withdrawn."
        elif thing.standing not in (Standing.KEPT, Standing.UNDECIDED):
            found[thing.pk] = f"It is not here any more: {thing.get_standing_display()}."
    return found


def how_many_at(spot: Spot) -> int:
    """Return how many things are at a spot now, whoever may see them."""
    return Showing.objects.filter(spot=spot, came_down__isnull=True).count()


def reading_of(spot: Spot, public_id: str) -> LuxReading:
    """Return a reading of a spot.

    Raises:
        Http404: there is none.
    """
    found = LuxReading.objects.filter(spot=spot, public_id=public_id).first()
    if found is None:
        raise Http404
    return found


def room_of(spot: Spot, reader: Account | None) -> Box | None:
    """Return the room a spot is in, where the reader may see it."""
    found: Box | None = Box.objects.visible_to(reader).filter(pk=spot.room_id).first()
    return found
