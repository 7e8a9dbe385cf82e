"""Canaries: words that only the keeper may see are looked for in everything that others can open."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from tests.access import test_matrix
from tests.access.test_matrix import _address, all_routes

pytestmark = pytest.mark.django_db
CANARY = "Zinnoberkanarie"


arguments = test_matrix.arguments  # the fixture with arguments that exist


def test_no_page_of_relatives_or_visitors_shows_a_private_thing(
    make_thing: Any, as_relative: Any, as_visitor: Any, arguments: dict[str, Any], keeper: Any
) -> None:
    from archive.access.actions import withdraw

    private = make_thing(f"{CANARY} private", access="keeper", pictures=1, note=CANARY)
    gone = make_thing(f"{CANARY} withdrawn", access="all", pictures=1)
    withdraw(keeper, gone, CANARY)
    for client in (as_relative, as_visitor):
        for name, pattern in all_routes():
            if name == "access:sign_out":
                continue
            answer = client.get(_address(name, pattern, arguments), follow=True)
            if not answer.streaming:
                assert CANARY not in answer.content.decode(errors="replace"), name
        for thing in (private, gone):
            picture = thing.pictures.first()
            for address in (
                thing.get_absolute_url(),
                reverse("access:history", args=["things", thing.public_id]),
                reverse("pictures:file", args=[picture.public_id]),
                reverse("pictures:size", args=[picture.public_id, 320]),
            ):
                assert client.get(address, follow=True).status_code == 404 or client is as_visitor
                assert CANARY.encode() not in client.get(address, follow=True).content
            assert client.get(reverse("things:list"), {"number": thing.number}).status_code == 200


def test_a_tag_gives_strangers_the_same_page_for_every_number(make_thing: Any, as_visitor: Any) -> None:
    thing = make_thing(access="keeper")
    used = as_visitor.get(reverse("tag", args=[thing.number]))
    unused = as_visitor.get(reverse("tag", args=["9999-1"]))
    assert used.status_code == unused.status_code == 302
    assert used["Location"].replace(thing.number, "N") == unused["Location"].replace("9999-1", "N")


def test_the_log_holds_no_names(keeper: Any) -> None:
    import logging

    from archive.keeping.logs import WithoutNames

    record = logging.LogRecord("x", logging.ERROR, "f", 1, "no row for 'Aunt Ragna' at \"/join/secret\"", (), None)
    assert "Ragna" not in WithoutNames().format(record) and "secret" not in WithoutNames().format(record)
