"""Writing which nodes of the storage tree are cold places, and what is taken out of them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.boxes.actions import add_box
from archive.boxes.models import Box, Level
from archive.things.models import Thing
from conservation.housing.actions import say_where_it_stands
from conservation.housing.queries import said_of
from conservation.rooms.cold.models import ColdPlace, ColdTrip


class OutAlready(ValueError):
    """The package is out of the cold and not back yet."""


class NotOut(ValueError):
    """The package is back in the cold, or was opened before it was taken out."""


def say_it_is_cold(who: Account, box: Box, values: dict[str, Any]) -> ColdPlace:
    """Record that a node of the storage tree is a refrigerator or freezer for film and colour, and how it is."""
    with changing(who, "rooms.cold"):
        place = ColdPlace.objects.filter(box=box).first()
        if place is None:
            place = ColdPlace(box=box)
        else:
            touch(place)
        for name, value in values.items():
            setattr(place, name, value)
        place.save()
        # Housing judges places by this; the two never disagree.
        say_where_it_stands(who, box, said_of(box)[0], place.appliance)
    return place


def add_cold_place(who: Account, title: str, inside: Box | None, values: dict[str, Any]) -> ColdPlace:
    """Record a refrigerator or freezer that is not in the storage tree yet."""
    with changing(who, "rooms.cold"):
        box = add_box(who, {"title": title, "level": Level.FURNITURE, "inside": inside})
        return say_it_is_cold(who, box, values)


def no_longer_cold(who: Account, place: ColdPlace) -> None:
    """Record that a node is no cold place any more; the node and what is in it stay."""
    with changing(who, "rooms.not_cold"):
        furniture, location = said_of(place.box)
        if location == place.appliance:
            say_where_it_stands(who, place.box, furniture, "")
        place.delete()


def take_out(who: Account, place: ColdPlace, what: Box | Thing, values: dict[str, Any]) -> ColdTrip:
    """Record that a package was taken out; ``values`` are ``package``, ``out_at``, ``opens_at`` and ``why``.

    Raises:
        OutAlready: it is out already.
    """
    column = "thing" if isinstance(what, Thing) else "box"
    with changing(who, "rooms.cold_out"):
        if ColdTrip.objects.filter(**{column: what}, back_at__isnull=True).exists():
            raise OutAlready
        trip = ColdTrip(place=place.box, **{column: what}, **values)
        trip.save()
    return trip


def note_opened(who: Account, trip: ColdTrip, at: datetime) -> None:
    """Record when a package was opened.

    Raises:
        NotOut: it was not out then.
    """
    with changing(who, "rooms.cold_opened"):
        if trip.back_at is not None or at < trip.out_at:
            raise NotOut
        trip.opened_at = at
        touch(trip)
        trip.save()


def note_back(who: Account, trip: ColdTrip, at: datetime) -> None:
    """Record that a package is back in the cold, packed anew if it was opened.

    Raises:
        NotOut: it is back already, or was not out then.
    """
    with changing(who, "rooms.cold_back"):
        if trip.back_at is not None or at < trip.out_at:
            raise NotOut
        trip.back_at = at
        touch(trip)
        trip.save()
