"""The demo's cold places, and what is out of them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.boxes.models import Box
from archive.things.models import Thing
from conservation.rooms.cold import actions, assess, queries
from conservation.rooms.cold.models import ColdPlace, ColdTrip


def add_cold(household: Mapping[str, Any], keeper: Account) -> None:
    """Record the tables ``cold_place`` and ``cold_trip``; what is there stays as it is."""
    for row in household.get("cold_place", []):
        box = Box.objects.get(title=row["box"])
        if queries.place_of(box) is None:
            ago = row.get("measured_ago")
            values = {
                name: row[name]
                for name in ("appliance", "frost_free", "no_food", "temperature_c", "card_pct", "note")
                if name in row
            }
            day = None if ago is None else timezone.localdate() - timedelta(days=ago)
            actions.say_it_is_cold(keeper, box, {**values, "measured_on": day})
    if not ColdTrip.objects.exists():
        with changing(keeper, "rooms.cold_out"):
            for row in household.get("cold_trip", []):
                _add_trip(row, keeper)


def _add_trip(row: Mapping[str, Any], keeper: Account) -> None:
    now = timezone.now().replace(second=0, microsecond=0)
    place = ColdPlace.objects.select_related("box").get(box__title=row["place"])
    what: Box | Thing = Thing.objects.get(title=row["thing"]) if "thing" in row else Box.objects.get(title=row["box"])
    out_at = now - timedelta(hours=row["out_hours"])
    opens_at = assess.opens_at(out_at, row["package"])
    values = {"package": row["package"], "out_at": out_at, "opens_at": opens_at, "why": row["why"]}
    trip = actions.take_out(keeper, place, what, values)
    if "opened_hours" in row:
        actions.note_opened(keeper, trip, now - timedelta(hours=row["opened_hours"]))
    if "back_hours" in row:
        actions.note_back(keeper, trip, now - timedelta(hours=row["back_hours"]))
