"""A relative tells a story on a phone of 360 px, with scripts and without: "Saved" is seen when it is saved."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests.browser.conftest import sign_in
from tests.conftest import jpeg

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("scripts", [True, False])
def test_telling_on_a_phone(
    scripts: bool, chromium: Any, live_server: Any, relative: Any, make_thing: Any, tmp_path: Path
) -> None:
    from archive.stories.models import Story

    thing = make_thing("The ferry bell", pictures=1)
    files = [tmp_path / "one.jpg", tmp_path / "two.jpg"]
    for seed, path in enumerate(files):
        path.write_bytes(jpeg(seed=50 + seed))
    context = chromium.new_context(
        viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True, java_script_enabled=scripts
    )
    sign_in(context, live_server.url, relative)
    page = context.new_page()
    page.goto(live_server.url + thing.get_absolute_url())
    page.get_by_role("link", name="Tell a story about this").tap()
    page.wait_for_url("**" + reverse("stories:tell") + "*")
    expect(page.get_by_label("Who tells it")).to_have_value("Rolf Relative")
    box = page.get_by_label("The story").bounding_box()
    assert box is not None and box["height"] >= 240 and box["width"] >= 300 and box["x"] + box["width"] <= 360
    # First without the story itself: what was chosen and typed must still be there.
    page.get_by_label("When it was").fill("about 1930")
    page.get_by_label("everybody on the home network").check()
    page.get_by_label("Pictures").set_input_files([str(path) for path in files])
    page.get_by_role("button", name="Save the story").tap()
    page.get_by_text("These pictures are in already").wait_for()
    assert page.get_by_text("Saved.").count() == 0 and not Story.objects.exists()
    expect(page.get_by_label("When it was")).to_have_value("about 1930")
    page.get_by_label("The story").fill("It rang twice for the doctor.\n\nOnce for us.")
    page.get_by_role("button", name="Save the story").tap()
    page.get_by_text("Saved. Thank you for telling.").wait_for()
    story = Story.objects.get()
    assert story.pictures.count() == 2 and story.access == "all" and story.written_by == relative
    expect(page.get_by_role("heading", level=1)).to_have_text("It rang twice for the doctor")
    expect(page.locator(".story-pictures img")).to_have_count(2)
    context.close()


@pytest.mark.parametrize("theme", ["auto", "dark"])
def test_a_story_prints_dark_on_white_whatever_the_screen_has(
    theme: str, chromium: Any, live_server: Any, keeper: Any, make_thing: Any
) -> None:
    """The ink on paper against the paper: at least 7:1, the enhanced contrast of WCAG 2.2 (success criterion 1.4.6)."""
    from archive.preferences.actions import begin_with
    from archive.preferences.queries import preferences
    from archive.stories.actions import add_story

    begin_with({"theme": theme})
    story = add_story(
        keeper, {"body": "To be printed.", "told_text": "1978"}, {"thing": [make_thing()]}, [], preferences()
    )
    context = chromium.new_context(color_scheme="dark")
    sign_in(context, live_server.url, keeper)
    page = context.new_page()
    page.goto(live_server.url + story.get_absolute_url())
    page.emulate_media(media="print", color_scheme="dark")
    inks = page.evaluate(
        "[...document.querySelectorAll('h1, .story-body p, dt, dd')].map(e => getComputedStyle(e).color)"
    )
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert len(inks) >= 4 and ground == "rgb(255, 255, 255)"
    assert all(1.05 / (_luminance(ink) + 0.05) >= 7 for ink in inks), inks
    hidden = page.locator("header.site, footer.site, nav.page-actions, form")
    assert all(not hidden.nth(n).is_visible() for n in range(hidden.count()))
    context.close()


def _luminance(colour: str) -> float:
    """The relative luminance of ``rgb(r, g, b)``, as WCAG 2.2 defines it."""
    parts = [int(each) / 255 for each in re.findall(r"\d+", colour)[:3]]
    linear = [each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
