"""What the demo's keeper decided to put things in, and in what some of its boxes stand."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.utils import timezone

from archive.access.models import Account
from archive.boxes.models import Box
from archive.things.models import Thing
from conservation.housing import actions
from conservation.housing.models import HousingDecision, StandingPlace


def build(household: Mapping[str, Any], keeper: Account) -> None:
    """Record the tables ``housed`` and ``stands``; what is there already stays as it is."""
    today = timezone.localdate()
    for row in household.get("housed", []):
        thing = Thing.objects.filter(title=row["thing"]).order_by("pk").first()
        if thing is None or HousingDecision.objects.filter(thing=thing).exists():
            continue
        done = today - timedelta(days=row["done_ago"]) if "done_ago" in row else None
        values = {name: row.get(name, "") for name in ("form", "material", "words", "reason")}
        decided = today - timedelta(days=row["ago"])
        actions.decide(keeper, thing, {**values, "decided_on": decided, "done_on": done})
    for row in household.get("stands", []):
        box = Box.objects.filter(title=row["box"]).order_by("pk").first()
        if box is not None and not StandingPlace.objects.filter(box=box).exists():
            actions.say_where_it_stands(keeper, box, row.get("furniture", ""), row.get("location", ""))
