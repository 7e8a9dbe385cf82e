"""A relative tells a story on a phone: what is typed and uploaded is never lost, and "Saved" means saved."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from archive.keeping import media_store
from archive.stories.models import Story
from tests.conftest import jpeg

pytestmark = pytest.mark.django_db
TELL = reverse("stories:tell")


def picture(seed: int, name: str = "phone.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, jpeg(seed=seed), content_type="image/jpeg")


def form_id(answer: Any) -> str:
    found = re.search(r'name="form_id" value="([^"]+)"', answer.content.decode())
    assert found
    return found[1]


def test_a_story_about_a_thing_with_two_pictures(as_relative: Any, relative: Any, make_thing: Any) -> None:
    thing = make_thing("The ferry bell", pictures=1)
    page = as_relative.get(f"{TELL}?thing={thing.public_id}")
    words = page.content.decode()
    assert "The ferry bell" in words and reverse("pictures:size", args=[thing.pictures.get().public_id, 640]) in words
    assert 'value="Rolf Relative"' in words
    saved = as_relative.post(
        f"{TELL}?thing={thing.public_id}",
        {
            "body": "It rang twice for the doctor.\r\n\r\nOnce for us.",
            "teller": "Rolf Relative",
            "about_text": "1930s",
            "access": "relatives",
            "pictures": [picture(1), picture(2)],
            "form_id": form_id(page),
        },
        follow=True,
    )
    story = Story.objects.get()
    assert saved.redirect_chain == [(story.get_absolute_url(), 302)]
    assert "Saved. Thank you" in saved.content.decode()
    assert (story.title, story.body) == (
        "It rang twice for the doctor",
        "It rang twice for the doctor.\n\nOnce for us.",
    )
    assert (story.teller, story.teller_text, story.written_by) == (None, "Rolf Relative", relative)
    assert (story.about_earliest, story.about_latest) == ("1930-01-01", "1939-12-31")
    assert story.told_edtf and not story.seen_by_keeper
    assert [row.thing for row in story.thing_rows.all()] == [thing]
    assert story.pictures.count() == 2
    assert all(media_store.original_path(each.sha256).is_file() for each in story.pictures.all())
    assert story.title in as_relative.get(thing.get_absolute_url()).content.decode()


@pytest.mark.parametrize("what", ["thing", "person", "place"])
def test_each_of_the_three_can_be_told_of_and_hidden_ones_cannot(
    what: str, as_relative: Any, make_thing: Any, make_person: Any, make_place: Any
) -> None:
    make = {"thing": make_thing, "person": make_person, "place": make_place}[what]
    seen, hidden = make("Open"), make("Shut", access="keeper")
    assert as_relative.get(f"{TELL}?{what}={seen.public_id}").status_code == 200
    as_relative.post(f"{TELL}?{what}={seen.public_id}", {"body": "Told."})
    assert getattr(Story.objects.get(), f"{what}_rows").get().__dict__[f"{what}_id"] == seen.pk
    for wrong in (hidden.public_id, "nonsense"):
        assert as_relative.get(f"{TELL}?{what}={wrong}").status_code == 404
        assert as_relative.post(f"{TELL}?{what}={wrong}", {"body": "Told."}).status_code == 404
    assert Story.objects.count() == 1


def test_a_failing_field_loses_neither_words_nor_pictures(as_relative: Any, make_thing: Any) -> None:
    thing = make_thing()
    address = f"{TELL}?thing={thing.public_id}"
    typed = {"title": "Bell & <rope>", "teller": "Aunt Ragna", "about_text": "about 1930", "access": "all", "body": ""}
    failed = as_relative.post(address, {**typed, "pictures": [picture(1, "eins.jpg"), picture(2)]})
    words = failed.content.decode()
    assert failed.status_code == 422 and Story.objects.count() == 0 and "Saved" not in re.sub(r"“Saved”", "", words)
    for kept in ("Bell &amp; &lt;rope&gt;", "Aunt Ragna", "about 1930", 'value="all"'):
        assert kept in words
    tickets = re.findall(r'name="held" value="([^"]+)"', words)
    assert len(tickets) == 2
    shown = as_relative.get(reverse("pictures:held", args=["320", tickets[0]]))
    assert shown.status_code == 200 and shown["Content-Type"] == "image/jpeg"
    # Sent again without files, as a browser without JavaScript would.
    as_relative.post(address, {**typed, "body": "Now with words.", "held": tickets, "form_id": form_id(failed)})
    story = Story.objects.get()
    assert story.pictures.count() == 2 and story.pictures.first().original_name == "eins.jpg"
    assert (story.title, story.teller_text, story.access) == ("Bell & <rope>", "Aunt Ragna", "all")


def test_a_bad_file_keeps_the_good_ones_and_the_words(as_relative: Any) -> None:
    film = SimpleUploadedFile("film.mp4", b"\x00\x00\x00 ftypisom" + b"0" * 400)
    failed = as_relative.post(TELL, {"body": "Look at these.", "pictures": [picture(1), film]})
    words = failed.content.decode()
    assert (
        failed.status_code == 422 and "film.mp4" in words and "Look at these." in words and not Story.objects.exists()
    )
    held = re.findall(r'name="held" value="([^"]+)"', words)
    as_relative.post(TELL, {"body": "Look at these.", "held": held, "without_refused": "1"})
    assert Story.objects.get().pictures.count() == 1


def test_sent_twice_it_is_told_once(as_relative: Any) -> None:
    fields = {"body": "Once only.", "form_id": form_id(as_relative.get(TELL))}
    first = as_relative.post(TELL, {**fields, "pictures": [picture(3)]})
    again = as_relative.post(TELL, {**fields, "pictures": [picture(3)]})
    assert first["Location"] == again["Location"] == Story.objects.get().get_absolute_url()
    assert Story.objects.get().pictures.count() == 1


def test_what_is_told_to_the_keeper_alone_is_gone_from_the_tellers_pages(
    as_relative: Any, as_keeper: Any, make_thing: Any
) -> None:
    thing = make_thing()
    saved = as_relative.post(f"{TELL}?thing={thing.public_id}", {"body": "Zinnober.", "access": "keeper"}, follow=True)
    assert saved.redirect_chain[0][0] == thing.get_absolute_url()
    assert "only the keeper can see it" in saved.content.decode() and "Zinnober" not in saved.content.decode()
    story = Story.objects.get()
    for name in ("page", "edit", "pictures"):
        assert as_relative.get(reverse(f"stories:{name}", args=[story.public_id])).status_code == 404
    assert "Zinnober" in as_keeper.get(thing.get_absolute_url()).content.decode()


def test_a_name_of_somebody_in_the_archive_is_tied_but_not_ones_own(
    as_relative: Any, make_person: Any, relative: Any
) -> None:
    ragna = make_person("Ragna Aldermoor")
    make_person("Rolf Relative", born_text="1850", died_text="1911")  # an ancestor of the same name
    as_relative.post(TELL, {"body": "One.", "teller": "ragna aldermoor"})
    as_relative.post(TELL, {"body": "Two.", "teller": "Rolf Relative"})
    make_person("Ragna Aldermoor")
    as_relative.post(TELL, {"body": "Three.", "teller": "Ragna Aldermoor"})
    found = [(story.teller, story.teller_text) for story in Story.objects.order_by("pk")]
    assert found == [(ragna, ""), (None, "Rolf Relative"), (None, "Ragna Aldermoor")]


def test_a_relative_changes_their_own_story_and_nobody_elses(
    as_relative: Any, relative: Any, make_story: Any, make_thing: Any
) -> None:
    mine = make_story("Mine.", by=relative, pictures=1, of=[make_thing()])
    other = make_story("The keeper’s.", pictures=1)
    for story in (mine, other):
        first = story.pictures.get()
        for name, arguments in (("edit", []), ("pictures", []), ("picture", [first.public_id])):
            expected = 200 if story is mine else 404
            address = reverse(f"stories:{name}", args=[story.public_id, *arguments])
            assert as_relative.get(address).status_code == expected
            if story is other:
                assert as_relative.post(address, {"body": "x", "caption": "x", "take_off": "1"}).status_code == 404
    # A picture is reached through its own story only.
    crossed = reverse("stories:picture", args=[mine.public_id, other.pictures.get().public_id])
    assert as_relative.post(crossed, {"take_off": "1"}).status_code == 404
    Story.objects.update(seen_by_keeper=True)
    edit = reverse("stories:edit", args=[mine.public_id])
    as_relative.post(edit, {"body": "Mine, mended.", "access": "relatives", "opened_version": mine.version})
    mine.refresh_from_db()
    assert mine.body == "Mine, mended." and not mine.seen_by_keeper and mine.thing_rows.count() == 1
    as_relative.post(reverse("stories:pictures", args=[mine.public_id]), {"pictures": [picture(9)]})
    first, second = mine.pictures.all()
    as_relative.post(reverse("stories:picture", args=[mine.public_id, second.public_id]), {"caption": "The bell"})
    as_relative.post(reverse("stories:picture", args=[mine.public_id, first.public_id]), {"take_off": "1"})
    assert [each.caption for each in mine.pictures.all()] == ["The bell"]
    other.refresh_from_db()
    assert other.pictures.count() == 1 and other.body == "The keeper’s."


def test_a_story_about_something_shut_is_shut_at_first(as_keeper: Any, make_thing: Any) -> None:
    for values, expected in (
        ({"access": "all"}, "relatives"),
        ({"access": "keeper"}, "keeper"),
        ({"access": "all", "closed_until": "2999-01-01"}, "keeper"),
    ):
        thing = make_thing(**values)
        page = as_keeper.get(f"{TELL}?thing={thing.public_id}").content.decode()
        assert re.findall(r'value="(\w+)"[^>]* checked', page) == [expected]
