"""The main journeys in a browser, with and without JavaScript, on a phone's width."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests.browser.conftest import sign_in
from tests.conftest import jpeg

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("scripts", [True, False])
def test_a_photograph_becomes_a_thing_with_a_label(
    chromium: Any, live_server: Any, keeper: Any, tmp_path: Path, scripts: bool
) -> None:
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(jpeg((1200, 900)))
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(b"not a picture")
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=scripts)
    sign_in(context, live_server.url, keeper)
    page = context.new_page()
    page.goto(live_server.url)
    page.get_by_role("link", name="Add the first thing").click()
    page.locator("#id_pictures").set_input_files([photo, broken])
    page.get_by_label("Title").fill("Letter in a tin")
    page.get_by_label("Kind", exact=True).select_option("letter")
    page.get_by_label("When it was made").fill("about 1930")
    if scripts:
        page.get_by_text("Understood as about 1930").wait_for()
    page.get_by_role("button", name="Save the thing").click()
    page.get_by_text("broken.jpg").first.wait_for()
    page.get_by_role("button", name="Save the thing").click()
    page.get_by_role("heading", name="Letter in a tin").wait_for()
    expect(page.get_by_text("Saved as")).to_be_visible()
    assert "/things/add" not in page.url
    expect(page.get_by_text("How to keep it")).to_be_visible()
    expect(page.locator("figure img")).to_have_count(1)
    page.get_by_role("link", name="Print its label").click()
    expect(page.locator("input[name=pick]:checked")).to_have_count(1)
    with page.expect_event("response", lambda r: r.request.method == "POST") as answered:
        page.get_by_role("button", name="Make the sheet").click()
    assert answered.value.headers["content-type"] == "application/pdf"
    context.close()


_ONE_PAGE = ("housing:sheet", "housing:card", "on_show:how")


def test_a_printed_page_is_plain(chromium: Any, site: Any, keeper: Any, tmp_path: Path) -> None:
    import pypdf

    from archive.things.models import Thing

    context = chromium.new_context()
    sign_in(context, site.url, keeper)
    page = context.new_page()
    page.goto(site.url + Thing.objects.order_by("pk").first().get_absolute_url())
    page.pdf(path=tmp_path / "a.pdf", format="A4")
    text = " ".join(each.extract_text() for each in pypdf.PdfReader(tmp_path / "a.pdf").pages)
    assert "Letter from the ferry house" in text and "How to keep it" in text
    on_screen = ("Print its label", "Sign out", "Move it", "Add pictures", "Who says so")
    assert [each for each in on_screen if each in text] == []
    sheets = [reverse(name, args=[each.public_id]) for each in Thing.objects.all() for name in _ONE_PAGE]
    for address in (*sheets, reverse("this_week:month")):
        page.goto(site.url + address)
        page.pdf(path=tmp_path / "b.pdf", prefer_css_page_size=True, format="A4")
        assert len(pypdf.PdfReader(tmp_path / "b.pdf").pages) == 1, address
    context.close()
