"""First visit, signing in, throttling, invitations, and keeping somebody out."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from archive.access.models import Account
from archive.keeping import firstcode
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db
NEW = {"home_name": "Home", "display_name": "Kaja", "username": "Kaja", "password": PASSWORD}


def test_first_visit_from_this_computer_makes_the_keeper(db: None, home: Path) -> None:
    client = Client(REMOTE_ADDR="127.0.0.1")
    assert client.get("/")["Location"] == reverse("access:first_keeper")
    client.post(reverse("access:first_keeper"), NEW)
    assert Account.objects.get().role == "keeper" and client.get("/").status_code == 200


def test_first_visit_from_another_device_needs_the_code(db: None, home: Path) -> None:
    client = Client(REMOTE_ADDR="192.168.7.9")
    code = firstcode.new_code()
    assert client.post(reverse("access:first_keeper"), {**NEW, "code": "22222222"}).status_code == 422
    assert not Account.objects.exists()
    assert client.post(reverse("access:first_keeper"), {**NEW, "code": code}).status_code == 302
    assert Client().post(reverse("access:first_keeper"), NEW)["Location"] == reverse("access:sign_in")
    assert Account.objects.count() == 1


def test_the_code_cannot_be_guessed_by_trying() -> None:
    code = firstcode.new_code()
    for _ in range(10):
        assert not firstcode.check("99999999" if code != "99999999" else "88888888")
    assert not firstcode.check(code)


def test_sign_in_is_throttled(keeper: Any) -> None:
    client = Client()
    body = {"username": "KEEPER", "password": "wrong"}
    answers = [client.post(reverse("access:sign_in"), body).status_code for _ in range(8)]
    assert answers[0] == 422 and answers[-1] == 429
    assert client.post(reverse("access:sign_in"), {**body, "password": PASSWORD}).status_code == 429
    other = Client(REMOTE_ADDR="192.168.7.10")
    assert other.post(reverse("access:sign_in"), {**body, "password": PASSWORD}).status_code == 302


def test_sign_in_leads_back_but_never_away(keeper: Any) -> None:
    body = {"username": "keeper", "password": PASSWORD}
    assert Client().post(reverse("access:sign_in"), {**body, "next": "/things/"})["Location"] == "/things/"
    assert Client().post(reverse("access:sign_in"), {**body, "next": "//evil.example/"})["Location"] == "/"


def test_invitation_works_once(as_keeper: Any) -> None:
    page = as_keeper.post(reverse("access:invite"), {"display_name": "Ragna", "role": "relative"}).content.decode()
    secret = re.search(r"/join/([^/]+)/", page)[1]  # type: ignore[index]
    address = reverse("access:accept_invitation", args=[secret])
    body = {"display_name": "Ragna", "username": "ragna", "password": PASSWORD}
    client = Client()
    assert client.post(address, {**body, "password": "short"}).status_code == 422
    assert client.post(address, body).status_code == 302
    assert Account.objects.get(username="ragna").role == "relative"
    assert Client().get(address).status_code == 404


def test_kept_out_means_out_at_once(as_keeper: Any, as_relative: Any, relative: Any, keeper: Any) -> None:
    assert as_relative.get(reverse("access:password")).status_code == 200
    as_keeper.post(reverse("access:account", args=[relative.public_id]), {"active": "0"})
    assert as_relative.get(reverse("access:password")).status_code != 200
    as_keeper.post(reverse("access:account", args=[keeper.public_id]), {"active": "0"})
    keeper.refresh_from_db()
    assert keeper.is_active  # the last keeper stays


def test_signing_out(as_keeper: Any) -> None:
    as_keeper.post(reverse("access:sign_out"))
    assert as_keeper.get(reverse("things:add")).status_code == 302
