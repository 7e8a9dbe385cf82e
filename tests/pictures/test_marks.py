"""Who is in a picture: marked by numbers, by taps or by dragging, shown to those who may see the person."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.urls import reverse

from archive.access.models import ChangeSet
from archive.access.undo import undo
from archive.people.models import Person
from archive.people.queries import NewName
from archive.pictures.actions import mark_person, remove_picture
from archive.pictures.models import PersonMark
from archive.things.models import ThingPerson

pytestmark = pytest.mark.django_db


@pytest.fixture
def picture(make_thing: Any) -> Any:
    return make_thing("At the ferry", pictures=1, access="all").pictures.get()  # 640 × 480 pixels


def test_four_numbers_and_a_name_make_a_mark_and_tell_the_thing(picture: Any, as_keeper: Any) -> None:
    address = reverse("pictures:mark", args=[picture.public_id])
    values = {"person": "Tobias Aldermoor", "left": "12,5", "top": "10 %", "width": "25", "height": "50", "sure": "on"}
    assert as_keeper.post(address, values).status_code == 302
    mark = PersonMark.objects.get()
    assert (mark.left, mark.top, mark.width, mark.height, mark.sure) == (1250, 1000, 2500, 5000, True)
    link = ThingPerson.objects.get()
    assert (link.thing, link.person, link.role) == (picture.thing, mark.person, "shown")
    # The same act: one undo takes back the mark, the person in the thing, and the person made for it.
    (act,) = ChangeSet.objects.filter(verb="pictures.mark")
    page = as_keeper.get(reverse("pictures:zoom", args=[picture.public_id])).content.decode()
    # 12.5 % of 640, 10 % of 480, 25 % of 640, 50 % of 480.
    assert 'x="80" y="48" width="160" height="240"' in page and "Tobias Aldermoor" in page
    as_keeper.post(reverse("access:undo", args=[act.public_id]))
    assert not PersonMark.objects.exists() and not ThingPerson.objects.exists() and not Person.objects.exists()


def test_a_second_mark_tells_the_thing_nothing_twice(picture: Any, keeper: Any) -> None:
    mark_person(keeper, picture, NewName("Ragna"), {"sure": False})
    person = Person.objects.get()
    mark_person(keeper, picture, person, {"left": 0, "top": 0, "width": 10, "height": 10, "sure": True})
    assert PersonMark.objects.count() == 2 and ThingPerson.objects.count() == 1


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"person": ""}, "required"),
        ({"left": "20"}, "all four"),
        ({"left": "90", "top": "0", "width": "20", "height": "10"}, "beyond the edge"),
        ({"left": "0", "top": "0", "width": "0", "height": "10"}, "width and a height"),
        ({"left": "x", "top": "0", "width": "1", "height": "10"}, "from 0 to 100"),
        ({"left": "nan", "top": "0", "width": "1", "height": "10"}, "from 0 to 100"),
        ({"left": "1e400", "top": "0", "width": "1", "height": "10"}, "from 0 to 100"),
    ],
)
def test_what_cannot_be_is_said_and_nothing_typed_is_lost(
    picture: Any, as_keeper: Any, values: dict[str, str], words: str
) -> None:
    typed = {"person": "Girl with the hoop 🎻", "sure": "on", **values}
    answer = as_keeper.post(reverse("pictures:mark", args=[picture.public_id]), typed)
    page = answer.content.decode()
    assert answer.status_code == 422 and words in page and not PersonMark.objects.exists()
    assert not values.get("left") or f'value="{values["left"]}"' in page
    assert not typed["person"] or typed["person"] in page


def test_two_taps_without_javascript_draw_the_rectangle(picture: Any, as_keeper: Any) -> None:
    """``<input type=image>`` sends where it was tapped (HTML Living Standard, 4.10.5.1.19), in pixels of the page."""
    address = reverse("pictures:mark", args=[picture.public_id])
    page = as_keeper.get(address).content.decode()
    width, height = map(int, re.search(r'<input type="image"[^>]* width="(\d+)" height="(\d+)"', page).groups())  # type: ignore[union-attr]
    assert (width, height) == (320, 240)
    typed = {"person": "Elsbeth", "sure": "on", "corner": "", "left": "", "top": "", "width": "", "height": ""}
    # The lower right corner first: the order of the taps does not matter.
    page = as_keeper.post(address, {**typed, "tap.x": "240", "tap.y": "180"}).content.decode()
    assert "one corner" in page and 'value="Elsbeth"' in page
    corner = re.search(r'name="corner" value="([^"]+)"', page)[1]  # type: ignore[index]
    page = as_keeper.post(address, {**typed, "corner": corner, "tap.x": "80", "tap.y": "60"}).content.decode()
    fields = dict(re.findall(r'name="(left|top|width|height)" value="([^"]*)"', page))
    assert fields == {"left": "25", "top": "25", "width": "50", "height": "50"} and 'value="Elsbeth"' in page
    assert not PersonMark.objects.exists()
    # The Enter key in a field is told by browsers as a tap at 0, 0: it saves.
    answer = as_keeper.post(address, {**typed, **fields, "tap.x": "0", "tap.y": "0"})
    assert answer.status_code == 302
    mark = PersonMark.objects.get()
    assert (mark.left, mark.top, mark.width, mark.height) == (2500, 2500, 5000, 5000)


@pytest.mark.parametrize("sent", [{"tap.x": "x", "tap.y": "1"}, {"tap.x": "1", "tap.y": "1", "corner": "a b c"}])
def test_taps_that_no_browser_sends(picture: Any, as_keeper: Any, sent: dict[str, str]) -> None:
    answer = as_keeper.post(reverse("pictures:mark", args=[picture.public_id]), {"person": "", **sent})
    assert answer.status_code in (200, 422) and not PersonMark.objects.exists()


def test_names_are_shown_to_those_who_may_see_the_person(
    picture: Any, keeper: Any, as_keeper: Any, as_relative: Any, as_visitor: Any
) -> None:
    from archive.access.actions import withdraw
    from archive.access.changes import changing

    box = {"left": 100, "top": 100, "width": 900, "height": 900, "sure": True}
    people: dict[str, Any] = {}
    with changing(keeper, "test"):
        for name, values in {
            "Deaddorothea": {"died_text": "1950", "access": "all"},
            "Livinglena": {"access": "all"},
            "Relativerike": {"died_text": "1950", "access": "relatives"},
            "Secretsofie": {"access": "keeper"},
            "Withdrawnwanda": {"died_text": "1950", "access": "all"},
        }.items():
            people[name] = Person(name=name, **values)
            people[name].save()
    for person in people.values():
        mark_person(keeper, picture, person, box)
    withdraw(keeper, people["Withdrawnwanda"], "not here")
    address = reverse("pictures:zoom", args=[picture.public_id])
    seen = {
        "keeper": set(people),
        "relative": {"Deaddorothea", "Livinglena", "Relativerike"},
        "visitor": {"Deaddorothea"},
    }
    for role, client in (("keeper", as_keeper), ("relative", as_relative), ("visitor", as_visitor)):
        page = client.get(address).content.decode()
        assert {name for name in people if name in page} == seen[role], role
        assert page.count('class="mark-line"') == len(seen[role])
    secret = PersonMark.objects.get(person=people["Secretsofie"])
    for name in ("change_mark", "remove_mark"):
        assert as_relative.post(reverse(f"pictures:{name}", args=[secret.public_id])).status_code == 404


def test_a_face_without_a_name_is_asked_about(picture: Any, keeper: Any, as_relative: Any) -> None:
    from archive.access.changes import changing

    with changing(keeper, "test"):
        unknown = Person(name="Girl with the hoop", unidentified=True)
        unknown.save()
    mark_person(keeper, picture, unknown, {"sure": False})
    page = as_relative.get(reverse("pictures:zoom", args=[picture.public_id])).content.decode()
    assert "Who is this?" in page and unknown.get_absolute_url() in page


def test_a_mark_is_changed_and_taken_off(picture: Any, keeper: Any, as_keeper: Any) -> None:
    mark = mark_person(keeper, picture, NewName("Jonas"), {"sure": False})
    address = reverse("pictures:change_mark", args=[mark.public_id])
    assert "Jonas" in as_keeper.get(address).content.decode()
    as_keeper.post(address, {"person": "Marit", "left": "1", "top": "2", "width": "3", "height": "4", "sure": "on"})
    mark.refresh_from_db()
    assert (mark.person.name, mark.left, mark.top, mark.width, mark.height, mark.sure) == (
        "Marit", 100, 200, 300, 400, True,
    )  # fmt: skip
    assert {row.person.name for row in ThingPerson.objects.all()} == {"Jonas", "Marit"}
    as_keeper.post(reverse("pictures:remove_mark", args=[mark.public_id]))
    assert not PersonMark.objects.exists()
    undo(ChangeSet.objects.filter(verb="pictures.remove_mark").get(), keeper)
    assert PersonMark.objects.get().person.name == "Marit"


def test_a_picture_taken_off_comes_back_with_its_marks(picture: Any, keeper: Any) -> None:
    thing = picture.thing
    mark_person(keeper, picture, NewName("Jonas"), {"left": 1, "top": 2, "width": 3, "height": 4, "sure": True})
    remove_picture(keeper, picture)
    assert thing.pictures.count() == 0 and not PersonMark.objects.exists()
    undo(ChangeSet.objects.filter(verb="pictures.remove").get(), keeper)
    assert PersonMark.objects.get().picture == thing.pictures.get()


def test_names_of_any_kind_fit_the_drawing(picture: Any, keeper: Any, as_keeper: Any) -> None:
    for name in ("<script>alert(1)</script>", "مرحبا 🎻", "W" * 300):
        mark_person(keeper, picture, NewName(name), {"left": 0, "top": 9000, "width": 900, "height": 900, "sure": True})
    page = as_keeper.get(reverse("pictures:zoom", args=[picture.public_id])).content.decode()
    assert "<script>alert" not in page and "مرحبا" in page
