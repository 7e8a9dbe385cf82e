"""Canaries: a story of the keeper's alone, and people and things of the keeper's alone that open stories tell of."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from archive.access.actions import withdraw
from archive.stories import queries

pytestmark = pytest.mark.django_db
CANARY = "Zinnoberkanarie"
SUBJECTS = {"thing": "things", "person": "people", "place": "places", "story": "stories"}


def everything(client: Client, *records: Any) -> str:
    """All that a reader can open about stories and these records, in one text."""
    addresses = [
        "/",
        reverse("stories:list"),
        *(f"{reverse('stories:list')}?{query}" for query in ("teller=a", "teller=Zinn", "when=1944", "page=2")),
        reverse("stories:tell"),
        reverse("stories:unread"),
        reverse("stories:suggest_things") + "?x=Zinn",
    ]
    for record in records:
        what = type(record).__name__.lower()
        addresses += [
            f"{reverse('stories:list')}?{what}={record.public_id}",
            f"{reverse('stories:tell')}?{what}={record.public_id}",
            record.get_absolute_url(),
            f"{record.get_absolute_url()}all/stories/",
            reverse("access:history", args=[SUBJECTS[what], record.public_id]),
        ]
    return "\n".join(client.get(each, follow=True).content.decode(errors="replace") for each in addresses)


@pytest.fixture
def told(make_thing: Any, make_person: Any, make_place: Any, make_story: Any, keeper: Any) -> dict[str, Any]:
    thing = make_thing("The bell", access="all")
    person = make_person("Tobias", access="all", known_dead=True)
    place = make_place("Skerrow", access="all")
    return {
        "about": [thing, person, place],
        "private": make_story(
            f"{CANARY} body", title=f"{CANARY} title", teller_text=f"{CANARY} teller", about_text="1944", pictures=1,
            access="keeper", of=[thing, person, place],
        ),
        "open": make_story("Told to all.", title="Open story", access="all", of=[thing, person, place]),
    }  # fmt: skip


def test_a_story_of_the_keepers_alone_is_nowhere_for_others(
    told: dict[str, Any], as_keeper: Any, as_relative: Any, as_visitor: Any, relative: Any
) -> None:
    thing, person, place = told["about"]
    for reader in (relative, None):
        found = queries.stories_of_thing(thing, reader)
        assert [row.story for row in found.rows] == [told["open"]] and found.more == 0
    for client in (as_relative, as_visitor):
        words = everything(client, thing, person, place, told["open"], told["private"])
        assert CANARY not in words and "Open story" in words
        # Neither counted, nor told of in the history of what it is about.
        assert "1 story, the latest first" in client.get(reverse("stories:list")).content.decode()
        address = told["private"].get_absolute_url()
        assert client.get(address).status_code in (302, 404) and CANARY not in client.get(address).content.decode()
        picture = told["private"].pictures.get()
        assert client.get(reverse("pictures:size", args=[picture.public_id, 320])).status_code in (302, 404)
    for record in told["about"]:
        assert "Open story" in as_relative.get(record.get_absolute_url()).content.decode()
        assert reverse("stories:tell") in as_relative.get(record.get_absolute_url()).content.decode()
        assert reverse("stories:tell") not in as_visitor.get(record.get_absolute_url()).content.decode()
        what = type(record).__name__.lower()
        links = as_relative.get(reverse("access:history", args=[SUBJECTS[what], record.public_id])).content.decode()
        assert links.count(f"link between story and {what}") == 1
        assert CANARY in as_keeper.get(record.get_absolute_url()).content.decode()


def test_what_was_written_while_it_was_private_stays_so_when_it_is_opened(
    make_story: Any, as_keeper: Any, as_relative: Any
) -> None:
    story = make_story(f"{CANARY} and more.", title="T", access="keeper", pictures=1)
    picture = reverse("stories:picture", args=[story.public_id, story.pictures.get().public_id])
    for caption in (CANARY, "harmless"):
        as_keeper.post(picture, {"caption": caption})
    edit = reverse("stories:edit", args=[story.public_id])
    for body, access in (("Opened.", "relatives"), ("Told on.", "relatives")):
        as_keeper.post(edit, {"title": "T", "body": body, "access": access})
    address = reverse("access:history", args=["stories", story.public_id])
    words = as_relative.get(address).content.decode()
    assert CANARY not in words and "Told on." in words and "Opened." in words
    assert CANARY in as_keeper.get(address).content.decode()


def test_a_withdrawn_story_is_nowhere_for_others(
    told: dict[str, Any], as_relative: Any, as_visitor: Any, keeper: Any
) -> None:
    withdraw(keeper, told["open"], "a mistake")
    for client in (as_relative, as_visitor):
        assert "Open story" not in everything(client, *told["about"], told["open"])


def test_an_open_story_names_no_hidden_person_thing_or_place(
    make_thing: Any,
    make_person: Any,
    make_place: Any,
    make_story: Any,
    as_relative: Any,
    as_visitor: Any,
    as_keeper: Any,
) -> None:
    hidden = [
        make_thing(f"{CANARY} thing", access="keeper", pictures=1),
        make_thing(f"{CANARY} closed", access="all", closed_until="2999-01-01"),
        make_person(f"{CANARY} person", access="keeper"),
        make_place(f"{CANARY} place", access="keeper"),
    ]
    story = make_story("Of many.", teller=make_person(f"{CANARY} teller", access="keeper"), access="all", of=hidden)
    for client in (as_relative, as_visitor):
        assert CANARY not in everything(client, story)
        assert "Of many." in client.get(f"{reverse('stories:list')}").content.decode()
        assert "Of many." not in client.get(f"{reverse('stories:list')}?teller={CANARY}").content.decode()
    page = as_keeper.get(story.get_absolute_url()).content.decode()
    for word in ("thing", "closed", "person", "place", "teller"):
        assert f"{CANARY} {word}" in page


def test_a_living_teller_is_named_to_relatives_but_not_to_visitors(
    make_person: Any, make_story: Any, as_relative: Any, as_visitor: Any
) -> None:
    living = make_person("Ragna Living", access="all", born_text="1990", born_latest="1990-12-31")
    story = make_story("Told by somebody.", teller=living, access="all", of=[living])
    assert "Ragna Living" in as_relative.get(story.get_absolute_url()).content.decode()
    assert "Ragna Living" not in everything(as_visitor, story)


def test_a_writer_who_does_not_see_the_teller_leaves_them_in_place(
    make_person: Any, make_story: Any, relative: Any, as_relative: Any
) -> None:
    hidden = make_person(f"{CANARY} teller", access="keeper")
    story = make_story("Mine.", by=relative, teller=hidden)
    edit = reverse("stories:edit", args=[story.public_id])
    assert CANARY not in as_relative.get(edit).content.decode()
    as_relative.post(
        edit, {"body": "Mine, mended.", "teller": "", "access": "relatives", "opened_version": story.version}
    )
    story.refresh_from_db()
    assert story.body == "Mine, mended." and story.teller == hidden
