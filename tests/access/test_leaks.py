"""Canaries: words that only the keeper may see are looked for in everything that others can open."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.access import test_matrix
from tests.access.test_matrix import _address, all_routes

pytestmark = pytest.mark.django_db
# What is typed into searches is a beginning of it, since pages say what was typed.
TYPED, CANARY = "Zinnoberkana", "Zinnoberkanarie"
# Words that relatives may see and visitors may not.
KIN_TYPED, KIN = "Mennigstie", "Mennigstieglitz"
# The pages that look for what is typed, with the names of their fields.
_ASKED = {
    "search:page": ("q",), "search:timeline": ("year",), "things:list": ("q", "person", "place", "box"),
    "people:list": ("name",), "places:list": ("name",), "stories:list": ("teller",), "people:suggest": ("name",),
    "places:suggest": ("name",),
}  # fmt: skip
# The calendar's address is the keeper's own secret, and says what the keeper chose.
_ELSEWHERE = {"access:sign_out", "this_week:feed"}


arguments = test_matrix.arguments  # the fixture with arguments that exist


@pytest.fixture
def linked(make_thing: Any, keeper: Any, arguments: dict[str, Any]) -> dict[str, Any]:
    """Everything of the keeper's own that can hang on what is open to all, under the canary's name."""
    from archive.access.actions import withdraw
    from archive.access.changes import changing
    from archive.boxes.models import Box
    from archive.people.models import Parentage, Partnership, Person
    from archive.pictures.models import PersonMark
    from archive.places.models import Place
    from archive.sorting.models import FirstLook, Group, GroupThing, Lot
    from archive.stories.models import Story, StoryPerson, StoryPlace, StoryThing
    from archive.things.actions import issue_number, set_fields
    from archive.things.models import Loan, PiecePerson, Share, Thing, ThingPerson, ThingPlace

    thing = Thing.objects.get(public_id=arguments["thing_id"])
    ida, skerrow = (m.objects.get(public_id=arguments[k]) for m, k in ((Person, "_person"), (Place, "_place")))
    told, open_box, open_lot = (
        m.objects.get(public_id=arguments[k]) for m, k in ((Story, "_story"), (Box, "_box"), (Lot, "lot_id"))
    )
    open_group = Group.objects.get(public_id=arguments["group_id"])
    private = make_thing(f"{CANARY} private", access="keeper", pictures=1, note=CANARY, made_text="1931")
    closed = make_thing(
        f"{CANARY} closed", access="all", pictures=1, made_text="1932", closed_why=CANARY,
        closed_until=timezone.localdate() + timedelta(days=9),
    )  # fmt: skip
    gone = make_thing(f"{CANARY} withdrawn", access="all", pictures=1)
    withdraw(keeper, gone, CANARY)
    hidden = [private, closed, gone]
    with changing(keeper, "test"):
        person = Person(name=f"{CANARY} person", access="keeper", born_text="1931", died_text="1999")
        place = Place(name=f"{CANARY} place", access="keeper")
        story = Story(title=f"{CANARY} story", body=CANARY, access="keeper", about_text="1931")
        room = Box(serial=issue_number("boxes"), level="room", title=f"{CANARY} room", access="keeper")
        lot = Lot(serial=issue_number("lots"), title=f"{CANARY} lot", access="keeper", note=CANARY)
        group = Group(title=f"{CANARY} group", access="keeper")
        for each in (person, place, story, room, lot, group):
            each.save()
        piece = thing.pieces.first()
        skerrow.within, ida.born_where, ida.died_where = place, place, place
        open_box.inside, open_lot.from_whom, open_lot.from_where, told.teller = room, person, place, person
        for each in (skerrow, ida, open_box, open_lot, told):
            each.version += 1
            each.save()
        for row in (
            ThingPerson(thing=thing, person=person), ThingPlace(thing=thing, place=place),
            PiecePerson(piece=piece, person=person), Share(thing=thing, person=person, part="1/2"),
            Loan(thing=thing, to_text=CANARY, since=date(2020, 1, 2), returned_on=date(2021, 1, 2), note=CANARY),
            Loan(thing=thing, person=ida, since=date(1999, 12, 31), returned_on=date(2001, 1, 1), note=CANARY),
            Parentage(child=ida, parent=person), Parentage(child=person, parent=ida),
            Partnership(one=ida, other=person), PersonMark(picture=thing.pictures.first(), person=person),
            StoryThing(story=story, thing=thing), StoryPerson(story=story, person=ida),
            StoryPlace(story=story, place=skerrow), StoryThing(story=told, thing=private),
            StoryPerson(story=told, person=person), StoryPlace(story=told, place=place),
            GroupThing(group=group, thing=thing), FirstLook(box=open_box, packed_by=person),
            *(GroupThing(group=open_group, thing=each) for each in hidden),
            *(ThingPerson(thing=each, person=ida, role="made") for each in hidden),
            *(ThingPlace(thing=each, place=skerrow) for each in hidden),
        ):  # fmt: skip
            if not isinstance(row, Parentage) or row.child == ida:  # nobody is their own grandmother
                row.save()
    set_fields(
        keeper, thing,
        {
            "lot": lot, "found_where": CANARY, "came_from": person, "borrowed_from": person, "standing_why": CANARY,
            "significance": 5, "significance_why": CANARY, "rights_note": CANARY, "rights_holder": CANARY,
            "came_note": KIN, "came_text": KIN, "open_question": "",
        },
        "test",
    )  # fmt: skip
    for each in hidden:
        set_fields(keeper, Thing.objects.get(pk=each.pk), {"box": open_box, "lot": open_lot}, "test")
    return {"hidden": hidden, "thing": thing}


def _addresses(arguments: dict[str, Any]) -> Iterator[str]:
    for name, pattern in all_routes():
        if name not in _ELSEWHERE:
            yield _address(name, pattern, arguments)
        for field in _ASKED.get(name, ()):
            for typed in (TYPED, KIN_TYPED):
                yield f"{_address(name, pattern, arguments)}?{field}={typed}"
    for year in ("1931", "1932"):
        yield f"{reverse('search:page')}?q={year}"
        yield f"{reverse('search:timeline')}?year={year}"
    for code, key in (("things", "thing_id"), ("people", "_person"), ("places", "_place"), ("stories", "_story"),
                      ("boxes", "_box"), ("lots", "lot_id"), ("groups", "group_id")):  # fmt: skip
        yield reverse("access:history", args=[code, arguments[key]])
    from archive.people.linked import KINDS
    from archive.places.linked import KINDS as OF_PLACES

    for route, key, kinds in (("people", "_person", KINDS), ("places", "_place", OF_PLACES)):
        for section in kinds:
            yield reverse(f"{route}:linked", args=[arguments[key], section])


def test_nothing_of_the_keepers_own_is_shown_beside_what_is_open(
    linked: dict[str, Any], arguments: dict[str, Any], as_keeper: Any, as_relative: Any, as_visitor: Any
) -> None:
    for client, words in ((as_relative, (CANARY,)), (as_visitor, (CANARY, KIN))):
        for address in _addresses(arguments):
            answer = client.get(address, follow=True)
            if not answer.streaming:
                page = answer.content.decode(errors="replace")
                assert not [word for word in words if word in page], address
    # The same words do stand where they may be read, so that the search above could have come upon them.
    page = as_keeper.get(linked["thing"].get_absolute_url()).content.decode()
    assert page.count(CANARY) > 10 and KIN in page
    assert KIN in as_relative.get(linked["thing"].get_absolute_url()).content.decode()
    assert CANARY in as_keeper.get(reverse("search:page"), {"q": TYPED}).content.decode()
    found = as_relative.get(reverse("search:page"), {"q": KIN_TYPED}).content.decode()
    assert linked["thing"].title in found
    assert linked["thing"].title not in as_visitor.get(reverse("search:page"), {"q": KIN_TYPED}).content.decode()
    lent = reverse("people:linked", args=[arguments["_person"], "loans"])
    assert as_keeper.get(lent).status_code == 200 and as_relative.get(lent).status_code == 404
    # And the addresses of what is hidden open nothing.
    for client in (as_relative, as_visitor):
        for thing in linked["hidden"]:
            picture = thing.pictures.first()
            for address in (
                thing.get_absolute_url(),
                reverse("access:history", args=["things", thing.public_id]),
                reverse("pictures:file", args=[picture.public_id]),
                reverse("pictures:size", args=[picture.public_id, 320]),
                reverse("pictures:zoom", args=[picture.public_id]),
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
