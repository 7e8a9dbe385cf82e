"""Every page as on a desk, 1280 px wide, in light and dark colours; the HTML of all of them."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse

from tests.browser.conftest import NODE, axe, colours
from tests.browser.pages import DESK, addresses, look_at_pages

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_every_page_on_a_desk(chromium: Any, site: Any, keeper: Any) -> None:
    troubles = look_at_pages(chromium, site, keeper, DESK)
    assert troubles == [], "\n".join(troubles)


def test_html_is_valid(site: Any, keeper: Any, tmp_path: Path) -> None:
    """The Nu HTML checker on what the server sends, signed in and not."""
    from django.test import Client

    files, pages = [], addresses()
    for signed_in in (True, False):
        client = Client(REMOTE_ADDR="192.168.1.9")
        if signed_in:
            client.force_login(keeper, backend="django.contrib.auth.backends.ModelBackend")
        for name, address in {**pages, "sign-in": reverse("access:sign_in")}.items():
            path = tmp_path / f"{signed_in}-{name.replace(' ', '-')}.html"
            path.write_bytes(client.get(address, follow=True).content)
            files.append(str(path))
    jar = next((NODE / "vnu-jar").glob("**/vnu.jar"))
    run = subprocess.run(["java", "-jar", str(jar), "--errors-only", *files], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr[:4000]


def test_the_checkers_find_a_bad_page(chromium: Any, tmp_path: Path) -> None:
    """A check that cannot fail is none: a page with known faults must give them."""
    bad = "<html><body><img src=x><input><p style='color:#bbb;background:#fff'>pale</p><a href=x></a></body></html>"
    page = chromium.new_page()
    page.set_content(bad)
    found = {line.partition(":")[0] for line in axe(page)}
    assert {"image-alt", "label", "color-contrast", "document-title", "html-has-lang", "link-name"} <= found
    page.set_content(
        "<style>@media (prefers-color-scheme: dark) { p { color: #444; background: #222 } }</style><p>Dim at night</p>"
    )
    page.emulate_media(color_scheme="light")
    assert "color-contrast" not in {line.partition(":")[0] for line in axe(page)}
    page.emulate_media(color_scheme="dark")
    assert {line.partition(":")[0] for line in colours(page)} == {"color-contrast"}
    page.close()
    path = tmp_path / "bad.html"
    path.write_text(bad)
    jar = next((NODE / "vnu-jar").glob("**/vnu.jar"))
    assert subprocess.run(["java", "-jar", str(jar), str(path)], capture_output=True).returncode != 0
