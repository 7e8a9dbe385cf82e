"""The demo's treatments by cold: one over, one under way."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.boxes.models import Box
from archive.things.models import Thing
from conservation.rooms.freezing import actions
from conservation.rooms.freezing.models import Freezing
from conservation.rooms.rounds.models import Finding


def add_freezings(household: Mapping[str, Any], keeper: Account) -> None:
    """Record the treatments of the table ``freezing``; what is there stays as it is."""
    if Freezing.objects.exists():
        return
    now = timezone.now().replace(minute=0, second=0, microsecond=0)
    with changing(keeper, "rooms.add_freezing"):
        for row in household.get("freezing", []):
            things = [(thing, False) for thing in Thing.objects.filter(title__in=row["things"])]
            values = {
                "title": row["title"], "freezer": row["freezer"],
                "box": Box.objects.filter(title=row["box"]).order_by("pk").first(),
                "finding": Finding.objects.filter(check_code=row["finding"]).order_by("pk").first(),
            }  # fmt: skip
            made = actions.add_freezing(keeper, values, things, now - timedelta(hours=row["in_hours"]))
            for ago, celsius in row["readings"]:
                actions.read(keeper, made, now - timedelta(hours=ago), float(celsius))
            if "out_hours" in row:
                actions.take_out(keeper, made, now - timedelta(hours=row["out_hours"]))
            if "opened_hours" in row:
                actions.open_bag(keeper, made, now - timedelta(hours=row["opened_hours"]))
            if "rechecked_ago" in row:
                actions.recheck(keeper, made, timezone.localdate() - timedelta(days=row["rechecked_ago"]))
