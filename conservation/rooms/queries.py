"""Reading rooms: the nodes of the storage tree of level room, and what is known of them."""

from __future__ import annotations

from typing import Any

from django.http import Http404

from archive.access.models import Account
from archive.boxes.models import Box, Level
from conservation.rooms.models import RoomFacts


def rooms_of(reader: Account | None) -> Any:
    """Return the rooms that this reader may see and that are not withdrawn, by name."""
    rooms = Box.objects.visible_to(reader).present().filter(level=Level.ROOM)
    return rooms.select_related("room_facts", "inside").order_by("title_folded", "pk")


def find_room(public_id: str, reader: Account | None) -> Box:
    """Return a room that this reader may see.

    Raises:
        Http404: there is none, or none for this reader, or the box is no room.
    """
    found: Box | None = (
        Box.objects.visible_to(reader)
        .filter(level=Level.ROOM, public_id=public_id)
        .select_related("room_facts", "inside")
        .first()
    )
    if found is None:
        raise Http404
    return found


def facts_of(room: Box) -> RoomFacts | None:
    """Return what is known of a room; no query for rooms of `rooms_of` and `find_room`."""
    return getattr(room, "room_facts", None)
