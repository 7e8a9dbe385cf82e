"""Batch change: the old values are shown, one act, one undo, nothing half done, and no more queries for more things."""

from __future__ import annotations

import re
import time
from typing import Any

import pytest
from django.urls import reverse

from archive.access.models import ChangeSet
from archive.people.models import Person
from archive.sorting.models import Group
from archive.things.models import Thing, ThingPerson

pytestmark = pytest.mark.django_db
BATCH = "/entry/batch/"


@pytest.fixture
def three(make_thing: Any) -> list[Any]:
    return [make_thing(f"Thing {n}", kind_code=code) for n, code in enumerate(("letter", "letter", "book"))]


def _ids(things: Any) -> str:
    return " ".join(thing.public_id for thing in things)


def _states(things: Any) -> list[Any]:
    """All that a person can see of things: their columns and what hangs on them."""
    from archive.access.undo import fields_of

    return [
        [getattr(thing, f.attname) for f in fields_of(Thing)]
        + [sorted(thing.person_rows.values_list("person_id", "role")), sorted(thing.group_rows.values_list("group_id"))]
        for thing in Thing.objects.filter(pk__in=[t.pk for t in things]).order_by("pk")
    ]


def test_choose_look_apply_undo(as_keeper: Any, three: list[Any]) -> None:
    before = _states(three)
    page = as_keeper.get(BATCH).content.decode()
    assert all(thing.number in page for thing in three)
    fields = as_keeper.post(BATCH, {"do": "choose", "shown": _ids(three), "thing": [t.public_id for t in three]})
    assert "Change 3 things" in fields.content.decode()
    wanted = {
        "chosen": _ids(three), "kind": "postcard or stamp", "made_text": "about 1930", "access": "keeper",
        "add_person": "Tobias Aldermoor", "add_person_role": "made", "add_state": "torn", "add_group": "The ferry",
        "significance": "4", "significance_why": "He built it",
    }  # fmt: skip
    look = as_keeper.post(BATCH, {**wanted, "do": "preview"}).content.decode()
    assert "Letter (2), Book (1)" in look and "Postcard or stamp" in look and "new, will be recorded" in look
    assert _states(three) == before and not Person.objects.exists()
    sent = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', look))
    assert {name: sent[name] for name in wanted} == wanted
    done = as_keeper.post(BATCH, {**sent, "do": "apply"}, follow=True).content.decode()
    assert "3 things changed" in done
    for thing in Thing.objects.all():
        assert (thing.kind_code, thing.made_edtf, thing.access, thing.states, thing.significance, thing.version) == (
            "postcard-or-stamp", "1930~", "keeper", ["torn"], 4, 2,
        )  # fmt: skip
        assert (
            thing.history.first().change_set.verb == "entry.batch" and thing.group_rows.get().group.title == "The ferry"
        )
    assert ThingPerson.objects.filter(person=Person.objects.get(), role="made").count() == 3
    change = ChangeSet.objects.get(verb="entry.batch")
    as_keeper.post(reverse("access:undo", args=[change.public_id]))
    assert _states(three) == before and not Person.objects.exists() and not Group.objects.exists()
    assert "undone" in as_keeper.get(reverse("entry:done", args=[change.public_id])).content.decode()


def test_what_is_so_already_is_left_alone(as_keeper: Any, three: list[Any]) -> None:
    as_keeper.post(BATCH, {"chosen": _ids(three), "kind": "letter", "do": "apply"})
    assert [t.version for t in Thing.objects.order_by("pk")] == [1, 1, 2]
    look = as_keeper.post(BATCH, {"chosen": _ids(three), "kind": "letter", "do": "preview"}).content.decode()
    assert "Nothing would change" in look


def test_taking_away(as_keeper: Any, three: list[Any]) -> None:
    add = {"chosen": _ids(three), "add_person": "Ragna", "add_person_role": "shown", "add_state": "torn", "do": "apply"}
    as_keeper.post(BATCH, add)
    as_keeper.post(BATCH, {**add, "add_person_role": "made"})
    assert ThingPerson.objects.count() == 6
    gone = {
        "chosen": _ids(three[:2]),
        "remove_person": "Ragna",
        "remove_state": "torn",
        "made_clear": "on",
        "do": "apply",
    }
    as_keeper.post(BATCH, gone)
    assert ThingPerson.objects.count() == 2 and Thing.objects.get(title="Thing 0").states == []
    as_keeper.post(
        BATCH, {"chosen": _ids(three), "remove_person": "Ragna", "remove_person_role": "made", "do": "apply"}
    )
    assert ThingPerson.objects.get().role == "shown"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({}, "Nothing is chosen yet"),
        ({"kind": "carpett"}, "Near it: Carpet or rug"),
        ({"standing": "lost"}, "A reason is asked"),
        ({"standing": "let go", "standing_why": "Three of them"}, "asked of everything that leaves"),
        ({"made_text": "1930", "made_clear": "on"}, "not both"),
        ({"closed_until": "2060-01-01"}, "A reason is asked"),
        ({"closed_until": "someday"}, "no day of the calendar"),
        ({"closed_until": "1999-01-01", "closed_why": "A quarrel"}, "nothing would be closed"),
        ({"remove_person": "Nobody At All"}, "Nobody in the archive"),
    ],
)
def test_what_cannot_be_done_is_said_and_nothing_is_lost(
    as_keeper: Any, three: list[Any], typed: dict[str, str], words: str
) -> None:
    body = {"chosen": _ids(three), "note": "x", "significance_why": "Kept in the form", **typed}
    for step in ("preview", "apply"):
        answer = as_keeper.post(BATCH, {**body, "do": step})
        page = answer.content.decode()
        assert answer.status_code == 422 and words in page and "Kept in the form" in page and _ids(three) in page
    assert set(Thing.objects.values_list("version", flat=True)) == {1}


def test_letting_go_takes_out_of_the_box_with_its_reasons(as_keeper: Any, three: list[Any], keeper: Any) -> None:
    from archive.boxes.actions import add_box

    box = add_box(keeper, {"title": "Shoe box"})
    as_keeper.post(BATCH, {"chosen": _ids(three), "box": box.number, "do": "apply"})
    assert box.things.count() == 3
    gone = {
        "standing": "let go",
        "standing_why": "Doubles",
        "gone_how": "To the school",
        "gone_agreed": "Jonas",
        "copy_kept": "yes",
    }
    as_keeper.post(BATCH, {"chosen": _ids(three[:2]), **gone, "do": "apply"})
    assert box.things.count() == 1
    thing = Thing.objects.get(title="Thing 0")
    assert (thing.standing, thing.gone_how, thing.copy_kept) == ("let go", "To the school", True) and thing.standing_on
    change = ChangeSet.objects.filter(verb="entry.batch").order_by("pk").last()
    as_keeper.post(reverse("access:undo", args=[change.public_id]))
    assert box.things.count() == 3 and set(Thing.objects.values_list("standing", flat=True)) == {"kept"}


def test_ticks_are_kept_over_pages_and_all_found_is_what_the_filter_finds(as_keeper: Any, make_thing: Any) -> None:
    things = [make_thing(f"Thing {n}", kind_code="book" if n % 2 else "letter") for n in range(60)]
    newest_first = things[::-1]
    shown = newest_first[:48]
    page = as_keeper.post(BATCH, {"do": "page:2", "shown": _ids(shown), "thing": [shown[0].public_id]}).content.decode()
    assert "1 chosen on other pages" in page and newest_first[48].number in page
    body = {
        "do": "choose",
        "chosen": shown[0].public_id,
        "shown": _ids(newest_first[48:]),
        "thing": [things[0].public_id],
    }
    assert "Change 2 things" in as_keeper.post(BATCH, body).content.decode()
    # A tick taken away on its page is taken away.
    body = {"do": "choose", "chosen": shown[0].public_id, "shown": _ids(shown), "thing": []}
    assert as_keeper.post(BATCH, body).status_code == 422
    assert "Change 30 things" in as_keeper.post(f"{BATCH}?kind=book", {"do": "all"}).content.decode()
    assert "Change 48 things" in as_keeper.post(BATCH, {"do": "all_here", "shown": _ids(shown)}).content.decode()


def test_five_hundred_things_in_one_act(as_keeper: Any, keeper: Any) -> None:
    from archive.access.bulk import create_many
    from archive.access.changes import changing
    from archive.things.actions import issue_numbers

    with changing(keeper, "things.add"):
        numbers = issue_numbers("things", 500)
        things = create_many([Thing(serial=each, title="T", kind_code="letter") for each in numbers])
    before = _states(things)
    body = {
        "chosen": _ids(things), "kind": "book", "made_text": "1930s", "add_person": "Ragna", "add_state": "torn",
        "do": "apply",
    }  # fmt: skip
    began = time.monotonic()
    assert as_keeper.post(BATCH, body).status_code == 302
    applied = time.monotonic() - began
    change = ChangeSet.objects.get(verb="entry.batch")
    assert Thing.history.filter(change_set=change).count() == 500 and applied < 6
    began = time.monotonic()
    as_keeper.post(reverse("access:undo", args=[change.public_id]))
    assert _states(things) == before and time.monotonic() - began < 10
    print(f"applied in {applied:.2f} s")


def test_undo_of_a_batch_says_why_not(as_keeper: Any, three: list[Any]) -> None:
    as_keeper.post(BATCH, {"chosen": _ids(three), "kind": "quilt", "do": "apply"})
    as_keeper.post(BATCH, {"chosen": three[0].public_id, "kind": "flag", "do": "apply"})
    first = ChangeSet.objects.filter(verb="entry.batch").order_by("pk").first()
    answer = as_keeper.post(reverse("access:undo", args=[first.public_id]))
    assert answer.status_code == 409 and "Thing 0" in answer.content.decode()
    assert sorted(Thing.objects.values_list("kind_code", flat=True)) == ["flag", "quilt", "quilt"]


def test_the_pages_ask_as_often_for_many_things_as_for_few(as_keeper: Any, make_thing: Any) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def counts(how_many: int) -> list[int]:
        ids = _ids([make_thing(f"Thing {n}", pictures=n % 2) for n in range(how_many)])
        done = as_keeper.post(BATCH, {"chosen": ids, "do": "apply", "add_state": "torn"})["Location"]
        found = []
        for ask in (
            lambda: as_keeper.get(BATCH),
            lambda: as_keeper.get(done),
            lambda: as_keeper.post(BATCH, {"chosen": ids, "do": "choose"}),
            lambda: as_keeper.post(BATCH, {"chosen": ids, "do": "preview", "add_person": "Ragna", "kind": "book"}),
        ):
            ask()
            with CaptureQueriesContext(connection) as queries:
                ask()
            found.append(len(queries))
        return found

    assert counts(3) == counts(30)
