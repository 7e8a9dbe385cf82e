"""Controls: reached by the keyboard. That they are large enough for a finger is seen with the pages."""

from __future__ import annotations

from typing import Any

import pytest

from tests.browser.conftest import fetch_the_rest, sign_in
from tests.browser.pages import addresses

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_the_keyboard_reaches_everything_and_shows_where_it_is(chromium: Any, site: Any, keeper: Any) -> None:
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    sign_in(context, site.url, keeper)
    page, pages = context.new_page(), addresses()
    for name in ("list", "letter", "add", "labels"):
        page.goto(site.url + pages[name])
        fetch_the_rest(page)
        wanted = page.evaluate(
            """() => { const seen = [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select,'
              + ' textarea, summary')].filter(e => e.checkVisibility() && e.getClientRects().length);
              seen.forEach((e, i) => e.dataset.walk = i); return seen.length }"""
        )
        reached = set()
        for _ in range(wanted + 30):
            page.keyboard.press("Tab")
            here = page.evaluate("document.activeElement && document.activeElement.dataset.walk")
            if here is not None:
                reached.add(here)
                ring = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
                assert ring != "none", (name, here)
        missing = set(map(str, range(wanted))) - reached
        # One of a group of radio buttons stands for all of them.
        missing = {
            m for m in missing if page.evaluate("m => document.querySelector(`[data-walk='${m}']`).type", m) != "radio"
        }
        assert missing == set(), (name, missing)
    context.close()
