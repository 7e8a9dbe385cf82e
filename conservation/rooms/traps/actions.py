"""Laying, counting, moving and taking away traps."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.boxes.models import Box
from conservation.rooms.traps.models import Trap, TrapCount
from conservation.rooms.traps.queries import next_label


def lay(who: Account | None, room: Box, values: Mapping[str, Any]) -> Trap:
    """Lay a trap: ``across``, ``along``, ``where``, ``lure``, ``placed_on``; it gets the next number of the house."""
    with changing(who, "rooms.lay_trap"):
        trap = Trap(room=room, label=next_label(), **values)
        trap.save()
    return trap


def move(who: Account | None, trap: Trap, values: Mapping[str, Any]) -> None:
    """Say that a trap lies elsewhere in its room."""
    with changing(who, "rooms.move_trap"):
        for name, value in values.items():
            setattr(trap, name, value)
        touch(trap)
        trap.save()


def count(who: Account | None, trap: Trap, values: Mapping[str, Any]) -> TrapCount:
    """Record what is in a trap on a day, and whether a new one was laid in its place.

    The count is of what came since the count before on the same sheet, or since the sheet was laid.
    """
    with changing(who, "rooms.count_trap"):
        day: date = values["counted_on"]
        before = TrapCount.objects.filter(trap=trap, counted_on__lt=day).order_by("-counted_on", "-pk").first()
        since = max(trap.fresh_since, before.counted_on) if before is not None else trap.fresh_since
        row = TrapCount(trap=trap, since=min(since, day), **values)
        row.save()
        if row.renewed and day >= trap.fresh_since:
            trap.renewed_on = day
            touch(trap)
            trap.save()
    return row


def take_away(who: Account | None, trap: Trap, day: date) -> None:
    """Take a trap away; its counts stay."""
    with changing(who, "rooms.take_trap"):
        trap.taken_on = day
        touch(trap)
        trap.save()
