"""Writing what rooms are like."""

from __future__ import annotations

from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.boxes.models import Box
from conservation.rooms.models import RoomFacts


def say_what_it_is_like(who: Account, room: Box, values: dict[str, Any]) -> RoomFacts:
    """Record what a room is like; the row is made when there is none yet."""
    with changing(who, "rooms.facts"):
        facts = RoomFacts.objects.filter(box=room).first()
        if facts is None:
            facts = RoomFacts(box=room)
        else:
            touch(facts)
        for name, value in values.items():
            setattr(facts, name, value)
        facts.save()
    return facts
