"""The list of things, narrowed: each filter by itself and together, the way off, and what a reader may ask for."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from tests.search.test_index import link, person

pytestmark = pytest.mark.django_db
GONE = {
    "standing": "let go", "standing_why": "a double", "gone_how": "to the school", "gone_agreed": "Ragna",
    "copy_kept": True,
}  # fmt: skip


def passed(reader: Any, **data: str) -> list[str]:
    from archive.things.filters import ThingFilter, everything

    chosen = ThingFilter(data, reader)
    return sorted(chosen.apply(everything(reader)).values_list("title", flat=True))


def put(keeper: Any, thing: Any, **values: Any) -> None:
    from archive.access.changes import changing

    with changing(keeper, "things.edit"):
        for name, value in values.items():
            setattr(thing, name, value)
        thing.save()


def made(keeper: Any, model: Any, subject: str = "", **values: Any) -> Any:
    from archive.access.changes import changing
    from archive.things.actions import issue_number

    with changing(keeper, "test.make"):
        if subject:
            values["serial"] = issue_number(subject)
        record = model(**values)
        record.save()
    return record


def test_every_filter_finds_its_own(keeper: Any, relative: Any, make_thing: Any) -> None:
    from archive.boxes.models import Box
    from archive.places.models import Place
    from archive.sorting.models import Group, GroupThing, Lot
    from archive.things.models import Piece, PiecePerson, ThingPlace

    cup, album = make_thing("Cup", kind_code="letter", made_text="1931"), make_thing("Album", pictures=1)
    quilt = make_thing("Quilt", kind_code="quilt", states=["brittle"], made_text="about 1870")
    ada, bo = person(keeper, "Ada Quill"), person(keeper, "Bo Finch")
    link(keeper, cup, ada)
    leaf = made(keeper, Piece, thing=album, order=1)
    made(keeper, PiecePerson, piece=leaf, person=bo)
    town = made(keeper, Place, name="Skerrow")
    made(keeper, ThingPlace, thing=quilt, place=town)
    shelf = made(keeper, Box, "boxes", title="Shelf", level="shelf")
    case = made(keeper, Box, "boxes", title="Case", inside=shelf)
    lot, group = made(keeper, Lot, "lots", title="Attic"), made(keeper, Group, title="Weddings")
    made(keeper, GroupThing, group=group, thing=cup)
    put(keeper, cup, box=case, significance=4)
    put(keeper, album, lot=lot, **GONE)
    asked = {
        "q": ("cup", ["Cup"]), "kind": ("quilt", ["Quilt"]), "person": (ada.public_id, ["Cup"]),
        "place": ("skerrow", ["Quilt"]), "box": (shelf.public_id, ["Cup"]), "lot": (lot.public_id, ["Album"]),
        "group": (group.public_id, ["Cup"]), "standing": ("let go", ["Album"]), "state": ("brittle", ["Quilt"]),
        "from": ("1900", ["Cup"]), "to": ("1890", ["Quilt"]), "significance": ("3", ["Cup"]),
        "no_picture": ("1", ["Cup", "Quilt"]), "withdrawn": ("only", []),
    }  # fmt: skip
    from archive.things.filters import FIELDS, ThingFilter

    assert set(asked) == set(FIELDS)
    for name, (value, titles) in asked.items():
        assert passed(keeper, **{name: value}) == titles, name
        (word,) = ThingFilter({name: value}, keeper).words()
        assert word.name == name and word.without == "" and word.words, name
    assert passed(keeper, person="Bo Finch") == passed(keeper, person="finch") == ["Album"]
    assert passed(keeper, person="nobody") == [] and passed(keeper, box="case") == ["Cup"]
    assert passed(keeper, **{"from": "1900", "to": "1900"}) == [] == passed(keeper, **{"from": "no date"})
    assert passed(keeper, box=case.number, person="ada quill", q="1930s") == ["Cup"]
    # Of how much a thing matters, and of withdrawn things, only the keeper may ask.
    assert len(passed(relative, significance="4")) == len(passed(relative, withdrawn="only")) == 3
    put(keeper, ada, access="keeper")
    assert passed(relative, person=ada.public_id) == passed(relative, person="Ada Quill") == []


def test_the_page_says_what_is_narrowed_and_keeps_it_from_page_to_page(as_keeper: Any, make_thing: Any) -> None:
    for n in range(60):
        make_thing(f"Sheet {n}", made_text="1931")
    make_thing("Quilt", kind_code="quilt")
    address = reverse("things:list")
    page = as_keeper.get(address).content.decode()
    assert "61 things" in page and "Page 1 of 2" in page and 'href="?page=2"' in page
    page = as_keeper.get(address, {"q": "sheet", "from": "1930s"}).content.decode()
    assert "60 things found" in page and "Made from 1930s" in page.replace("the 1930s", "1930s")
    assert 'href="?q=sheet&amp;from=1930s&amp;page=2"' in page and 'href="?from=1930s"' in page
    page = as_keeper.get(address, {"q": "sheet", "page": "2"}).content.decode()
    assert page.count('class="thing-number"') == 12 and "Newer" in page
    assert as_keeper.get(address, {"page": "99"}).content.decode().count('class="thing-number"') == 13
    page = as_keeper.get(address, {"q": "nothing at all like it"}).content.decode()
    assert "No thing that is open to you passes all of this" in page


def test_standing_is_told_and_counted(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    make_thing("Stays")
    put(keeper, make_thing("Gone"), **GONE)
    page = as_keeper.get(reverse("things:list")).content.decode()
    assert "2 things" in page and "1 let go" in page and '<span class="flag note">Let go</span>' in page
