"""Writing the keeper's answers to proposed moves. The moving itself is done by the boxes' own action."""

from __future__ import annotations

from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.boxes.models import Box
from archive.things.models import Thing
from conservation.rooms.living.models import MoveDecision


def decide(who: Account, record: Box | Thing, values: dict[str, Any]) -> MoveDecision:
    """Record the keeper's answer to a move of a box or thing. Earlier answers stay; the latest holds."""
    column = "thing" if isinstance(record, Thing) else "box"
    with changing(who, "rooms.move_decision"):
        decision = MoveDecision(**{column: record}, **values)
        decision.save()
    return decision
