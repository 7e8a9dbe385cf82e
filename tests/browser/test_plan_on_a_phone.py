"""A keeper on the ladder: a plan changed by hand and refused with its rule, a day of change ticked on a phone."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.browser.conftest import sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("scripts", [True, False])
def test_a_plan_is_changed_and_ticked_on_a_phone(
    scripts: bool, chromium: Any, live_server: Any, keeper: Any, make_thing: Any
) -> None:
    from conservation.on_show.models import Showing
    from conservation.on_show.plans import actions, assess
    from conservation.on_show.spots.actions import save_spot
    from conservation.science.rotation import work_out

    today = timezone.localdate()
    plate = make_thing("Plate", kind_code="ceramic", width_mm=200, height_mm=200)
    jug = make_thing("Jug", kind_code="ceramic", width_mm=200, height_mm=200)
    spot = {"title": "Shelf", "form": "shelf", "width_mm": 300, "height_mm": 300, "window_direction": "none"}
    save_spot(keeper, None, spot)
    monday = today - timedelta(days=today.weekday())
    plan = actions.add_plan(keeper, {"title": "A year", "starts_on": monday, "weeks": 20, "change_weeks": [0, 5, 10]})
    actions.wish(keeper, {plate: 5}, plan, ())
    asked = assess.build(plan, keeper, monday)
    actions.take_answer(keeper, plan, asked.stored, work_out(asked.input))
    context = chromium.new_context(
        viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True, java_script_enabled=scripts
    )
    sign_in(context, live_server.url, keeper)
    page = context.new_page()
    page.goto(live_server.url + plan.get_absolute_url())
    assert page.locator(".plan-grid .wide").is_hidden() and page.locator(".plan-grid .narrow").is_visible()
    page.get_by_role("button", name="Accept this plan").tap()
    page.get_by_text("Accepted.").wait_for()
    page.get_by_role("link", name="Put something in").tap()
    page.locator("#id_thing").fill(plate.number)
    page.get_by_role("button", name="Save").tap()
    page.get_by_text("That breaks").wait_for()
    assert "holds 1" in page.locator("main").inner_text() and page.locator("#id_thing").input_value() == plate.number
    page.locator("#id_thing").fill(jug.number)
    page.get_by_role("button", name="Save").tap()
    page.get_by_text("This plan does not know it").first.wait_for()
    page.goto(live_server.url + reverse("on_show:changeover", args=[plan.public_id, 0]))
    page.get_by_label("Plate").check()
    page.get_by_role("button", name="Record what is ticked").tap()
    page.get_by_text("Saved, as it happened.").wait_for()
    assert page.get_by_text("All of it is done.").is_visible()
    showing = Showing.objects.get()
    assert (showing.thing, showing.went_up, showing.came_down) == (plate, today, None)
    context.close()
