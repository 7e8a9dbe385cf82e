"""Reading cold places, what is in them, and what is out of them and warming up."""

from __future__ import annotations

from typing import Any

from django.db.models import Q
from django.http import Http404

from archive.access.models import Account
from archive.boxes.models import Box, Level
from archive.boxes.queries import below_sql, find_box, paths_of, things_below
from archive.things.models import Thing
from conservation.rooms.cold.models import ColdPlace, ColdTrip
from conservation.where import where

IN_ONE_PLACE = 500  # so many things of one cold place are listed


def cold_places(reader: Account | None) -> list[ColdPlace]:
    """Return the cold places that this reader may see, by name; one query."""
    boxes = Box.objects.visible_to(reader).present().order_by().values("pk")
    places = ColdPlace.objects.filter(box__in=boxes).select_related("box")
    return list(places.order_by("box__title_folded", "pk"))


def find_place(public_id: str, reader: Account | None) -> ColdPlace:
    """Return the cold place of a node of the storage tree.

    Raises:
        Http404: there is none, or none for this reader.
    """
    found = ColdPlace.objects.filter(box=find_box(public_id, reader)).select_related("box").first()
    if found is None:
        raise Http404
    return found


def place_of(box: Box) -> ColdPlace | None:
    """Return what makes this very node a cold place; nothing for any other."""
    return ColdPlace.objects.filter(box=box).first()


def around(box_id: int | None, reader: Account | None) -> ColdPlace | None:
    """Return the nearest cold place around a box that this reader may see, itself included."""
    here = where([box_id]).get(box_id or 0)
    if here is None or not here.cold:
        return None
    seen = {node.pk for path in paths_of([box_id], reader).values() for node in path}
    places = ColdPlace.objects.filter(box__in=seen.intersection(here.cold)).select_related("box")
    return min(places, key=lambda each: here.cold.index(each.box_id), default=None)


def things_in(place: ColdPlace, reader: Account | None) -> list[Thing]:
    """Return the things in a cold place and in all boxes in it, in the order of their numbers."""
    things = things_below(place.box, reader).present().select_related("box").order_by("serial_id")
    return list(things[:IN_ONE_PLACE])


def boxes_in(place: ColdPlace, reader: Account | None) -> list[Box]:
    """Return the boxes and folders in a cold place, however deep."""
    boxes = Box.objects.visible_to(reader).present().filter(pk__in=below_sql(place.box)).exclude(pk=place.box_id)
    return list(boxes.filter(level__in=(Level.BOX, Level.FOLDER)).order_by("title_folded", "pk")[:IN_ONE_PLACE])


def _trips(reader: Account | None) -> Any:
    boxes = Box.objects.visible_to(reader).present().order_by().values("pk")
    things = Thing.objects.visible_to(reader).present().order_by().values("pk")
    seen = Q(box__in=boxes) | Q(thing__in=things)
    return ColdTrip.objects.filter(seen, place__in=boxes).select_related("place", "box", "thing")


def out_now(reader: Account | None, of: Box | Thing | None = None) -> list[ColdTrip]:
    """Return what is out of the cold and not back, the first to be opened first; of one record if it is given."""
    trips = _trips(reader).filter(back_at__isnull=True)
    if of is not None:
        trips = trips.filter(**{"thing" if isinstance(of, Thing) else "box": of})
    return list(trips.order_by("opens_at", "pk"))


def trips_of(place: ColdPlace, reader: Account | None, how_many: int = 30) -> list[ColdTrip]:
    """Return what was taken out of a cold place, the latest first."""
    return list(_trips(reader).filter(place=place.box_id)[:how_many])


def find_trip(public_id: str, reader: Account | None) -> ColdTrip:
    """Return one time out of the cold.

    Raises:
        Http404: there is none, or none for this reader.
    """
    found: ColdTrip | None = _trips(reader).filter(public_id=public_id).first()
    if found is None:
        raise Http404
    return found
