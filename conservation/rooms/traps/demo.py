"""The demo's insect traps."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.boxes.models import Box
from conservation.rooms.traps import actions
from conservation.rooms.traps.models import GROUPS, Trap


def add_traps(household: Mapping[str, Any], keeper: Account) -> None:
    """Lay the traps of the table ``trap`` with their counts; what is there stays as it is."""
    if Trap.objects.exists():
        return
    today = timezone.localdate()
    with changing(keeper, "rooms.lay_trap"):
        for row in household.get("trap", []):
            room = Box.objects.filter(title=row["room"], level="room").order_by("pk").first()
            if room is None:
                continue
            across, along = row["at"]
            values = {
                "across": across, "along": along, "where": row["where"], "lure": row.get("lure", False),
                "placed_on": today - timedelta(days=row["ago"]),
            }  # fmt: skip
            trap = actions.lay(keeper, room, values)
            for ago, *numbers in row.get("counts", []):
                counted = dict(zip(GROUPS, numbers, strict=True))
                renewed = ago in row.get("renewed", [])
                day = today - timedelta(days=ago)
                actions.count(keeper, trap, {**counted, "counted_on": day, "renewed": renewed, "note": ""})
