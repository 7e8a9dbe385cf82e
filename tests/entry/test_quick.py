"""Quick entry: one screen, the next sheet begins with what the last one had, nothing is lost, undo gives it back."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from archive.access.models import ChangeSet
from archive.people.models import Person
from archive.things.models import Thing, ThingPerson
from tests.conftest import jpeg

pytestmark = pytest.mark.django_db
QUICK = "/entry/"


@pytest.fixture
def box(keeper: Any) -> Any:
    from archive.access.changes import changing
    from archive.boxes.models import Box
    from archive.things.actions import issue_number

    with changing(keeper, "boxes.add"):
        made = Box(serial=issue_number("boxes"), title="Shoe box")
        made.save()
    return made


def _value(page: str, name: str) -> str:
    found = re.search(rf'<(?:input|select)[^>]* name="{name}"[^>]*>', page)
    assert found, name
    value = re.search(r'value="([^"]*)"', found[0])
    return value[1] if value else ""


def test_a_sitting_of_three(as_keeper: Any, box: Any) -> None:
    assert reverse("entry:quick") == QUICK
    body = {
        "title": "Tobias at the rope", "kind": "postcard or stamp", "made_text": "about 1910", "box": box.number,
        "person1": "Tobias Aldermoor", "role1": "shown", "person2": "Ragna Aldermoor", "role2": "wrote",
        "keep": ["kind", "people", "box"], "do": "next",
    }  # fmt: skip
    page = as_keeper.post(QUICK, body, follow=True).content.decode()
    first = Thing.objects.get()
    assert (first.kind_code, first.made_edtf, first.box) == ("postcard-or-stamp", "1910~", box)
    assert {(row.person.name, row.role) for row in first.person_rows.all()} == {
        ("Tobias Aldermoor", "shown"), ("Ragna Aldermoor", "wrote"),
    }  # fmt: skip
    assert first.number in page and "1 in this sitting" in page and "New among the people" in page
    # The next sheet begins with what was ticked, and with nothing else.
    assert _value(page, "kind") == "Postcard or stamp" and box.number in _value(page, "box") and "Shoe box" in page
    assert _value(page, "person1") == "Tobias Aldermoor" and _value(page, "person2") == "Ragna Aldermoor"
    assert _value(page, "title") == "" and _value(page, "made_text") == "" and "autofocus" in page
    assert set(re.findall(r'name="keep" value="(\w+)"[^>]*checked', page)) == {"kind", "people", "box"}
    for n, title in enumerate(("The ferry", "The landing"), 2):
        sent = {name: _value(page, name) for name in ("kind", "box", "person1", "person2", "first", "last", "form_id")}
        page = as_keeper.post(
            QUICK, {**sent, "title": title, "role2": "wrote", "keep": "box"}, follow=True
        ).content.decode()
        assert f"{n} in this sitting" in page
    assert Thing.objects.count() == 3 and Person.objects.count() == 2
    assert ThingPerson.objects.count() == 4  # the third began with the box alone
    assert ChangeSet.objects.filter(verb="entry.quick").count() == 3


def test_what_is_taken_back_stands_in_the_sheet_again(as_keeper: Any) -> None:
    body = {"title": "Leter from Skerrow", "kind": "letter", "note": "From the <tin>", "person1": "Elsbeth"}
    answer = as_keeper.post(QUICK, body)
    page = as_keeper.get(answer["Location"]).content.decode()
    undo = re.search(r'action="(/undo/[^"]+)"', page)[1]  # type: ignore[index]
    goal = re.search(r'name="next" value="([^"]+)"', page)[1].replace("&amp;", "&")  # type: ignore[index]
    page = as_keeper.post(undo, {"next": goal}, follow=True).content.decode()
    assert not Thing.objects.exists()
    assert (
        _value(page, "title") == "Leter from Skerrow" and "From the &lt;tin&gt;" in page and "0 in this sitting" in page
    )


def test_errors_lose_nothing(as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing()
    files = [SimpleUploadedFile("good.jpg", jpeg()), SimpleUploadedFile("bad.jpg", b"")]
    body = {
        "title": "", "kind": "Leter", "box": thing.number, "note": "Typed with care", "person1": "Jonas Aldermoor",
        "pictures": files, "keep": ["note"], "first": "f", "last": "l",
    }  # fmt: skip
    answer = as_keeper.post(QUICK, body)
    page = answer.content.decode()
    assert answer.status_code == 422 and Thing.objects.count() == 1 and not Person.objects.exists()
    assert "Typed with care" in page and _value(page, "person1") == "Jonas Aldermoor" and _value(page, "first") == "f"
    assert "Near it: Letter" in page and "bad.jpg" in page and "No box, shelf or room" in page
    held = re.search(r'name="held" value="([^"]+)"', page)[1]  # type: ignore[index]
    again = {**body, "title": "Now with a title", "kind": "letter", "box": "", "held": held, "without_refused": "1"}
    del again["pictures"]
    assert as_keeper.post(QUICK, again).status_code == 302
    assert Thing.objects.order_by("pk").last().pictures.get().original_name == "good.jpg"


def test_finishing_with_an_empty_sheet_saves_nothing(as_keeper: Any) -> None:
    answer = as_keeper.post(QUICK, {"title": "One", "keep": "kind", "do": "next", "kind": "letter"})
    last = as_keeper.get(answer["Location"]).content.decode()
    done = as_keeper.post(QUICK, {"title": "", "kind": "Letter", "last": _value(last, "last"), "do": "finish"})
    assert done.status_code == 302 and Thing.objects.count() == 1
    assert (
        as_keeper.post(QUICK, {"title": "Two", "do": "finish"})["Location"]
        == Thing.objects.get(title="Two").get_absolute_url()
    )


def test_one_new_name_twice_is_one_person(as_keeper: Any) -> None:
    as_keeper.post(QUICK, {"title": "T", "person1": "Ragna", "role1": "wrote", "person2": "ragna", "role2": "shown"})
    assert Person.objects.count() == 1 and ThingPerson.objects.count() == 2


def test_a_typed_word_says_what_it_is(as_keeper: Any, as_relative: Any, box: Any) -> None:
    word = reverse("entry:word")
    assert f"{box.number} Shoe box" in as_keeper.get(word, {"box": box.number.replace("-", "")}).content.decode()
    assert f"{box.number} Shoe box" in as_keeper.get(word, {"box": "shoe BOX"}).content.decode()
    assert "is not one of our numbers" in as_keeper.get(word, {"box": "0001-8"}).content.decode()
    assert "Understood as" in as_keeper.get(word, {"made_text": "about 1930"}).content.decode()
    assert as_relative.get(word, {"box": box.number}).status_code == 404


def test_the_sheet_asks_as_often_with_many_things(as_keeper: Any, make_thing: Any) -> None:
    from django.db import connection

    def count() -> int:
        answer = as_keeper.post(QUICK, {"title": "T", "keep": ["kind", "people", "box"], "person1": "Ragna"})
        as_keeper.get(answer["Location"])
        with CaptureQueriesContext(connection) as queries:
            as_keeper.get(answer["Location"])
        return len(queries)

    few = count()
    for n in range(20):
        make_thing(f"thing {n}")
    assert count() == few
