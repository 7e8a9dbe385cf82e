"""A week on a phone: say how much time there is, see why, begin, say how long it took, put something off."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from tests.browser.conftest import sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_an_hour_of_the_week(chromium: Any, live_server: Any, keeper: Any, make_thing: Any) -> None:
    from conservation.this_week.models import PutOff, Work
    from tests.this_week.cast import own_job

    make_thing("A letter from nobody", kind_code="unknown")
    for words, minutes in (("Air the chest", 45), ("Oil the hinge", 10)):
        own_job(keeper, words, minutes=minutes, matters=5)
    context = chromium.new_context(viewport={"width": 360, "height": 740}, has_touch=True)
    sign_in(context, live_server.url, keeper)
    page = context.new_page()
    page.goto(live_server.url)
    page.get_by_role("link", name="an hour", exact=True).click()
    assert page.get_by_text("60 of your 60 minutes are spoken for").is_visible()
    first = page.locator(".week-line").first
    first.locator("summary").click()
    assert first.get_by_text("our default").is_visible()
    words = first.locator(".week-words").inner_text()
    assert words == "Oil the hinge"  # as much worth as the chest, and shorter
    first.get_by_role("button", name="Start").click()
    page.wait_for_url("**/this_week/own/**")
    page.goto(live_server.url)
    assert page.locator(".do-next").count() == 1 and page.get_by_role("heading", name="In hand").is_visible()
    page.get_by_label("It took me so many minutes").fill("25")
    page.get_by_role("button", name="Done", exact=True).click()
    page.get_by_text("Done, and noted.").wait_for()
    assert Work.objects.get().minutes == 25 and "Oil the hinge" not in page.locator(".week").inner_text()
    page.locator(".week-line", has_text="Air the chest").get_by_role("link", name="Later").click()
    page.get_by_label("Why it can wait").fill("It rains")
    page.get_by_role("button", name="A week", exact=True).click()
    page.get_by_text("Put off. It comes back").wait_for()
    row = PutOff.objects.get()
    assert row.reason == "It rains" and abs((row.until - timezone.localdate()) - timedelta(days=7)) <= timedelta(days=1)
    context.close()
