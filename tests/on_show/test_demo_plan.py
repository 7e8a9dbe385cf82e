"""The demo household has days of its own and an accepted plan with what hung and hangs, built once."""

from __future__ import annotations

from typing import Any

import pytest

from conservation.on_show.models import DisplayPlan, OwnOccasion, PlannedShowing, Showing
from conservation.on_show.plans import assess, assess_answer, queries

pytestmark = pytest.mark.django_db


def test_the_demo_has_an_accepted_plan_with_a_day_of_change_soon(keeper: Any, make_thing: Any) -> None:
    from archive import extend
    from archive.boxes.actions import add_box
    from archive.demo import read_household
    from conservation.on_show.demo import build as build_spots
    from conservation.on_show.plans.demo import build

    household = read_household()
    for row in household["thing"]:
        width, height, depth = row.get("size", (200, 200, 20))
        sizes = {"width_mm": width, "height_mm": height, "depth_mm": depth}
        make_thing(row["title"], kind_code=row["kind"], states=row.get("states", []), **sizes)
    for row in household["box"]:
        if row.get("level") == "room":
            add_box(keeper, {"title": row["title"], "level": "room"})

    def draw(name: str, seed: int, title: str) -> Any:
        raise AssertionError("no pictures are drawn for a plan")

    for _ in range(2):
        build_spots(household, keeper, draw)
        build(household, keeper, draw)
    assert OwnOccasion.objects.count() == len(household["own_day"]) >= 4
    plan = DisplayPlan.objects.get()
    asked = assess.asked_before(plan)
    assert plan.accepted_at is not None and asked is not None
    view = assess_answer.view_of(plan, asked, keeper, inch=False)
    standing = assess_answer.standing(view)
    assert standing.score == plan.answer["score"] <= plan.answer["bound"] and not standing.breaks
    # What hangs stands in it as it happened; other showings are still to come.
    rows = queries.showings_of(plan)
    assert Showing.objects.filter(planned__plan=plan).count() >= 3
    assert any(each.showing is None for each in rows) and len(rows) >= 8
    assert not PlannedShowing.objects.exclude(plan=plan).exists()
    (job,) = [each for each in extend.jobs(keeper) if each.key.startswith("on_show.changeover/")]
    assert job.due is not None and 0 <= (job.due - queries.today()).days <= 14
