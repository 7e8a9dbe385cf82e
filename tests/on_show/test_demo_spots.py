"""The demo shows each part of this subject once: places read and estimated, showings, a copy, too much light."""

from __future__ import annotations

from typing import Any

import pytest
from django.utils import timezone

from conservation.on_show.light.assess import watch
from conservation.on_show.light.queries import now_on_show
from conservation.on_show.models import BarredSpot, LightUse, Showing, Spot
from conservation.on_show.spots.assess import light_of_spot

pytestmark = pytest.mark.django_db


def test_the_demo_has_places_showings_and_one_that_is_over(keeper: Any, make_thing: Any) -> None:
    from archive.boxes.actions import add_box
    from archive.demo import read_household
    from conservation.on_show.demo import build

    household = read_household()
    for row in household["thing"]:
        states, parts = row.get("states", []), row.get("parts", [])
        make_thing(row["title"], kind_code=row["kind"], states=states, parts=parts)
    for box in household["box"]:
        if box.get("level") == "room":
            add_box(keeper, {"title": box["title"], "level": "room"})
    for _ in range(2):  # the second time it is there already
        build(household, keeper, lambda name, seed, title: None)
    origins = [light_of_spot(spot).origin for spot in Spot.objects.all()]
    assert len(origins) >= 5 and {"readings", "estimate"} <= set(origins)
    hanging = watch(now_on_show(keeper), timezone.localdate())
    assert sum(each.over for each in hanging) == 1 and any(each.showing.is_copy for each in hanging)
    assert Showing.objects.filter(came_down__isnull=False, lxh__gt=0).count() >= 3
    assert LightUse.objects.filter(what="digitising").exists() and BarredSpot.objects.exists()
