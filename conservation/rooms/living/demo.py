"""What the demo's keeper decided about moves."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.utils import timezone

from archive.access.models import Account
from archive.boxes.models import Box
from conservation.rooms.living import actions, moves_in_words, queries
from conservation.rooms.living.models import MoveDecision


def add_decisions(household: Mapping[str, Any], keeper: Account) -> None:
    """Record the table ``move_decision``; what is there stays as it is."""
    if MoveDecision.objects.exists():
        return
    house, today = queries.read_house(keeper), timezone.localdate()
    for row in household.get("move_decision", []):
        box = Box.objects.get(title=row["box"])
        goal = Box.objects.get(title=row["goal"]) if "goal" in row else None
        values = {
            "answer": row["answer"],
            "goal": goal,
            "minutes": row.get("minutes", 15),
            "reason": row["reason"],
            "decided_on": today - timedelta(days=row["ago"]),
            "until": today + timedelta(days=row["until_days"]) if "until_days" in row else None,
            "gain": moves_in_words.of_goal(house, keeper, box, goal),
        }
        actions.decide(keeper, box, values)
