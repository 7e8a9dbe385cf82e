"""Every page as on a phone, 360 px wide, in light and dark colours; the pages before signing in."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse

from tests.browser.conftest import axe, colours
from tests.browser.pages import DESK, PHONE, look_at_pages

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_every_page_on_a_phone(chromium: Any, site: Any, keeper: Any) -> None:
    troubles = look_at_pages(chromium, site, keeper, PHONE)
    assert troubles == [], "\n".join(troubles)


def test_pages_before_signing_in(chromium: Any, live_server: Any, home: Path, db: None) -> None:
    """The welcome page of a new archive, then signing in, an invitation, and one that is over."""
    from archive.access.actions import invite, make_account

    troubles: list[str] = []

    def look(address: str, *words: str) -> None:
        for width in (PHONE, DESK):
            context = chromium.new_context(viewport={"width": width, "height": 800}, color_scheme="light")
            page = context.new_page()
            page.goto(live_server.url + address)
            assert all(word in page.content() for word in words), (address, words)
            troubles.extend(f"{address} {width}: {finding}" for finding in axe(page))
            page.emulate_media(color_scheme="dark")
            troubles.extend(f"{address} {width} dark: {finding}" for finding in colours(page))
            context.close()

    look("/", "Nobody keeps this archive yet")
    keeper = make_account("keeper", "Kaja Keeper", "three words in row", "keeper")
    _, secret = invite(keeper, "Ragna", "relative")
    look(reverse("access:sign_in"), "Your password")
    look(reverse("access:accept_invitation", args=[secret]), "Kaja Keeper")
    look(reverse("access:accept_invitation", args=["no-such-link"]), "This invitation is over")
    assert troubles == [], "\n".join(troubles)
