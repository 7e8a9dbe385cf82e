"""The keeper's pages of stories: lists, links, two editors at once, what is yet to read, undo, and few questions."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from archive import extend
from archive.access.models import ChangeSet
from archive.access.undo import undo
from archive.people.models import Person
from archive.stories import queries
from archive.stories.models import Story

pytestmark = pytest.mark.django_db
LIST = reverse("stories:list")


def lines(page: Any) -> dict[str, str]:
    """The text fields and hidden fields of a form as a browser would send them back."""
    found = re.findall(r'<input type="text" name="([^"]+)"(?: value="([^"]*)")?', page.content.decode())
    return dict(found)


def opened_with(page: Any) -> list[str]:
    return re.findall(r'name="opened_with" value="([^"]+)"', page.content.decode())


def test_the_keeper_ties_a_story_to_old_and_new(as_keeper: Any, make_thing: Any, make_person: Any) -> None:
    bell, rope, tobias = make_thing("The bell"), make_thing("The rope"), make_person("Tobias")
    page = as_keeper.get(f"{reverse('stories:add')}?thing={bell.public_id}&person={tobias.public_id}")
    sent = lines(page)
    assert (sent["thing_0"], sent["person_0"]) == (str(bell), "Tobias")
    sent |= {
        "body": "A story.",
        "thing_1": rope.number,
        "person_1": "Nobody Yet",
        "place_0": "The mill",
        "access": "all",
    }
    more = as_keeper.post(reverse("stories:add"), {**sent, "more": "1"})
    assert more.status_code == 200 and not Story.objects.exists()
    sent = {**lines(more), "body": "A story.", "access": "all"}
    assert (sent["thing_1"], sent["person_1"], sent["place_0"]) == (rope.number, "Nobody Yet", "The mill")
    assert sent["thing_5"] == ""
    as_keeper.post(reverse("stories:add"), {**sent, "thing_2": bell.title, "told_text": "Christmas 1978"})
    story = Story.objects.get()
    assert [row.thing for row in story.thing_rows.order_by("pk")] == [bell, rope]  # the bell once, though named twice
    assert [row.person.name for row in story.person_rows.order_by("pk")] == ["Tobias", "Nobody Yet"]
    assert story.place_rows.get().place.name == "The mill" and story.seen_by_keeper
    assert story.told_earliest[:4] == "1978"
    wrong = as_keeper.post(reverse("stories:add"), {"body": "B.", "thing_0": "0001-1"})
    assert wrong.status_code == 422 and "No thing has this number" in wrong.content.decode()
    undo(ChangeSet.objects.filter(verb="stories.add").latest("pk"), story.written_by)
    assert not Story.objects.exists() and not Person.objects.filter(name="Nobody Yet").exists()


def test_two_keepers_tie_and_untie_at_once_and_nothing_is_lost(
    as_keeper: Any, make_thing: Any, make_person: Any, make_story: Any
) -> None:
    one, two, _ = make_thing("One"), make_thing("Two"), make_thing("Three")
    twins = [make_person("Same Name"), make_person("Same Name")]
    story = make_story("S.", of=[one, two, *twins])
    edit = reverse("stories:edit", args=[story.public_id])
    mine, theirs = as_keeper.get(edit), as_keeper.get(edit)
    same = {"body": "S.", "title": story.title, "access": "relatives", "opened_version": story.version}
    # They take off the first and tie the third; I saved the old page with only the date changed.
    as_keeper.post(
        edit, {**lines(theirs), **same, "opened_with": opened_with(theirs), "thing_0": "", "thing_2": "Three"}
    )
    as_keeper.post(edit, {**lines(mine), **same, "opened_with": opened_with(mine), "about_text": "1944"})
    story.refresh_from_db()
    assert {row.thing.title for row in story.thing_rows.all()} == {"Two", "Three"}
    assert story.person_rows.count() == 2 and story.about_text == "1944"
    undo(ChangeSet.objects.filter(verb="stories.edit").order_by("pk")[0], story.written_by)
    assert {row.thing.title for row in story.thing_rows.all()} == {"One", "Two"}


def test_two_writers_of_one_text_are_asked(as_keeper: Any, as_relative: Any, relative: Any, make_story: Any) -> None:
    story = make_story("First.", by=relative, title="T")
    edit = reverse("stories:edit", args=[story.public_id])
    sent = {"title": "T", "access": "relatives", "opened_version": story.version}
    as_keeper.post(edit, {**sent, "body": "Keeper’s words.", "title": "Keeper’s title"})
    asked = as_relative.post(edit, {**sent, "body": "Rolf’s words."})
    words = asked.content.decode()
    assert asked.status_code == 409 and "Keeper’s words." in words and "Rolf’s words." in words
    story.refresh_from_db()
    assert story.body == "Keeper’s words."
    settled = {**sent, "opened_version": story.version, "body": "Both words.", "title": story.title}
    as_relative.post(edit, settled)
    story.refresh_from_db()
    assert (story.body, story.title) == ("Both words.", "Keeper’s title")


def test_the_list_is_narrowed_by_teller_time_and_record(
    as_keeper: Any, make_story: Any, make_person: Any, make_thing: Any
) -> None:
    bell = make_thing("The bell")
    make_story("War.", title="In the war", about_text="1939/1945", teller=make_person("Åse Nordby"), of=[bell])
    make_story("After.", title="After it", about_text="after 1950", teller_text="Aunt Liv")
    make_story("No date.", title="No time at all")
    make_story("Odd.", title="An odd date", about_text="when the cat was young")

    def shown(query: str) -> set[str]:
        page = as_keeper.get(f"{LIST}?{query}").content.decode()
        return {each for each in ("In the war", "After it", "No time at all", "An odd date") if each in page}

    assert shown("") == {"In the war", "After it", "No time at all", "An odd date"}
    assert shown("when=1944") == {"In the war"}
    assert shown("when=1930s") == {"In the war"} and shown("when=1946") == set()
    assert shown("when=1990") == {"After it"}
    assert shown("teller=ase") == {"In the war"} and shown("teller=liv") == {"After it"}
    assert shown(f"thing={bell.public_id}") == {"In the war"}
    assert shown("when=1944&teller=liv") == set()
    assert "No date can be read" in as_keeper.get(f"{LIST}?when=soon+%3Cb%3E").content.decode()
    assert as_keeper.get(f"{LIST}?thing=nonsense").status_code == 404


def test_what_was_told_waits_until_the_keeper_says_that_it_is_read(
    as_keeper: Any, keeper: Any, relative: Any, as_relative: Any, make_story: Any, make_thing: Any
) -> None:
    told = make_story("Told.", by=relative, of=[make_thing("The bell")])
    own = make_story("Own.")
    [job] = [each for each in extend.jobs(keeper) if "told about" in each.words]
    assert (job.words, job.url, job.tier) == ("Read what Rolf Relative told about The bell", told.get_absolute_url(), 3)
    assert not [each for each in extend.jobs(relative) if "told" in each.words]
    for _ in range(2):  # looking marks nothing
        as_keeper.get(told.get_absolute_url())
        assert told.get_absolute_url() in as_keeper.get(reverse("stories:unread")).content.decode()
    assert as_keeper.get(reverse("stories:read", args=[told.public_id])).status_code == 405
    assert as_relative.post(reverse("stories:read", args=[told.public_id])).status_code == 404
    as_keeper.post(reverse("stories:read", args=[told.public_id]))
    told.refresh_from_db()
    assert told.seen_by_keeper and not [each for each in extend.jobs(keeper) if "told about" in each.words]
    # That it was read stands not in the way of undoing it.
    undo(ChangeSet.objects.filter(verb="stories.add").order_by("pk")[0], keeper)
    assert list(Story.objects.all()) == [own]
    several = [make_story(f"Story {n}.", by=relative) for n in range(6)]
    jobs = [each.words for each in extend.jobs(keeper) if each.words.startswith("Read")]
    assert len(jobs) == 4 and jobs[-1] == "Read 3 more stories told since you last looked"
    late = make_story("Told while the keeper read.", by=relative)
    as_keeper.post(reverse("stories:unread"), {"story": [each.public_id for each in several]})
    assert list(queries.unread(keeper)) == [late]


def test_pages_ask_no_more_for_many_stories(
    as_keeper: Any, as_relative: Any, relative: Any, make_story: Any, make_thing: Any, make_person: Any, make_place: Any
) -> None:
    bell, mill = make_thing("The bell", pictures=1), make_place()

    def tell(count: int, start: int) -> None:
        for n in range(start, start + count):
            person = make_person(f"Teller {n}")
            make_story(f"Story {n}.", by=relative, teller=person, pictures=n % 2, of=[bell, person, mill])

    def asked() -> list[int]:
        counts = []
        for client, address in (
            (as_keeper, LIST),
            (as_relative, LIST),
            (as_keeper, reverse("stories:unread")),
            (as_relative, f"{LIST}?place={mill.public_id}&teller=teller"),
            (as_relative, bell.get_absolute_url()),
            (as_keeper, "/"),
        ):
            client.get(address)
            with CaptureQueriesContext(
                connection,
            ) as found:
                assert client.get(address).status_code == 200
            counts.append(len(found))
        return counts

    tell(4, 0)
    few = asked()
    tell(26, 4)
    assert asked() == few
    assert max(few[:2]) <= 15


def test_a_page_tells_everything_of_a_story(as_keeper: Any, make_story: Any, make_person: Any, make_thing: Any) -> None:
    teller = make_person("Ragna " + "R" * 290)
    story = make_story(
        "مرحبا 🎻\n\nhttps://example.org/mill", title="T" * 300, teller=teller, about_text="3/4/1951", told_text="1978",
        pictures=1, of=[make_thing("The bell"), teller],
    )  # fmt: skip
    page = as_keeper.get(story.get_absolute_url()).content.decode()
    for word in (
        "T" * 300,
        "R" * 290,
        "The bell",
        "3/4/1951",
        "1978",
        'href="https://example.org/mill"',
        "Kaja Keeper",
    ):
        assert word in page
    withdrawn = reverse("access:withdraw", args=["stories", story.public_id])
    history = reverse("access:history", args=["stories", story.public_id])
    assert withdrawn in page and history in page
    assert as_keeper.get(history).status_code == as_keeper.get(withdrawn).status_code == 200
