"""Many rows in one act: histories as if each had been saved, and undo that gives back exactly what was there."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.db.models import ProtectedError
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from archive.access.bulk import change_many, create_many, delete_many
from archive.access.changes import changing
from archive.access.models import ChangeSet
from archive.access.signals import WriteOutsideChange
from archive.access.undo import CannotUndo, undo
from archive.boxes.models import Box
from archive.people.models import Person
from archive.things.actions import issue_numbers
from archive.things.models import IssuedNumber, Thing, ThingPerson

pytestmark = pytest.mark.django_db


def _things(keeper: Any, how_many: int) -> list[Any]:
    with changing(keeper, "test.many"):
        numbers = issue_numbers("things", how_many)
        return create_many([Thing(serial=number, title=f"T{number.serial}", kind_code="letter") for number in numbers])


def _rows(model: Any) -> list[dict[str, Any]]:
    leave = ("version", "changed_at")
    return [{k: v for k, v in row.items() if k not in leave} for row in model.objects.order_by("pk").values()]


def test_numbers_in_bulk_follow_the_series(keeper: Any) -> None:
    """The same serials as one by one: those whose check character is X are left out (ISO 7064)."""
    from archive.numbers import is_given_out
    from archive.things.actions import issue_number

    one_by_one = [issue_number("things").serial for _ in range(25)]
    assert one_by_one == [serial for serial in range(1, one_by_one[-1] + 1) if is_given_out(serial)]
    many = [number.serial for number in issue_numbers("things", 40)]
    assert many == [n for n in range(one_by_one[-1] + 1, many[-1] + 1) if is_given_out(n)] and len(many) == 40
    assert issue_number("boxes").serial > many[-1] and IssuedNumber.objects.count() == 66


def test_history_tells_the_same_as_saving_one_by_one(keeper: Any) -> None:
    first, second = _things(keeper, 2)
    with changing(keeper, "test.change") as change_set:
        first.note, second.note = "one", "two"
        change_many([first, second], ["note"])
    with changing(keeper, "test.remove"):
        delete_many([second])
    assert [(row.history_type, row.note, row.version) for row in first.history.order_by("history_id")] == [
        ("+", "", 1), ("~", "one", 2),
    ]  # fmt: skip
    gone = Thing.history.filter(id=second.pk).order_by("history_id")
    assert [row.history_type for row in gone] == ["+", "~", "-"] and gone.last().note == "two"
    first.refresh_from_db()
    assert (first.note, first.version) == ("one", 2)
    assert Thing.history.filter(change_set=change_set).count() == 2


def test_nothing_is_written_outside_a_change_set(keeper: Any) -> None:
    (thing,) = _things(keeper, 1)
    for write in (lambda: change_many([thing], ["note"]), lambda: delete_many([thing])):
        with pytest.raises(WriteOutsideChange):
            write()
    with pytest.raises(WriteOutsideChange):
        create_many([Thing(serial=issue_numbers("things", 1)[0], title="T")])


def test_what_something_hangs_on_is_not_taken_out(keeper: Any) -> None:
    things = _things(keeper, 3)
    with changing(keeper, "test.link"):
        person = Person(name="Tobias")
        person.save()
        create_many([ThingPerson(thing=things[1], person=person)])
    with pytest.raises(ProtectedError), changing(keeper, "test.remove"):
        delete_many(things)
    assert Thing.objects.count() == 3
    # Undo names the one that is in use.
    with pytest.raises(CannotUndo) as caught:
        undo(ChangeSet.objects.get(verb="test.many"), keeper)
    assert "T" in caught.value.clashes[0].record and things[1].title in caught.value.clashes[0].record
    assert Thing.objects.count() == 3


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(0, 5), st.sampled_from("ncdl"), st.text("xyz", max_size=3)), max_size=14))
def test_undo_of_any_act_gives_back_what_was_there(keeper: Any, steps: list[tuple[int, str, str]]) -> None:
    """Do, undo: as before. Undo the undo: as after. Many rows, changed one by one and in bulk, in one act."""
    things = _things(keeper, 6)
    with changing(keeper, "test.person"):
        person = Person(name="Ragna")
        person.save()
    before = (_rows(Thing), _rows(ThingPerson))
    with changing(keeper, "test.steps") as change_set:
        gone: set[int] = set()
        for at, what, text in steps:
            if at in gone:
                continue
            thing = things[at]
            if what == "n":
                thing.note = text
                change_many([thing, *[t for n, t in enumerate(things) if n not in gone | {at}]], ["note"])
            elif what == "c":
                thing.title = f"title {text}"
                thing.version += 1
                thing.save()
            elif what == "l" and not ThingPerson.objects.filter(thing=thing).exists():
                create_many([ThingPerson(thing=thing, person=person)])
            elif what == "d" and not ThingPerson.objects.filter(thing=thing).exists():
                delete_many([thing])
                thing.pk = None
                gone.add(at)
    after = (_rows(Thing), _rows(ThingPerson))
    inverse = undo(change_set, keeper)
    assert (_rows(Thing), _rows(ThingPerson)) == before
    undo(inverse, keeper)
    assert (_rows(Thing), _rows(ThingPerson)) == after


def test_boxes_within_boxes_of_one_act_are_taken_back(keeper: Any) -> None:
    with changing(keeper, "test.boxes") as change_set:
        inside = None
        for number in issue_numbers("boxes", 5):
            inside = Box(serial=number, title=f"B{number.serial}", inside=inside)
            inside.save()
    undo(change_set, keeper)
    assert not Box.objects.exists()


def test_undo_asks_as_often_for_many_as_for_few(keeper: Any) -> None:
    def queries(how_many: int) -> int:
        things = _things(keeper, how_many)
        with changing(keeper, "test.change") as change_set:
            for thing in things:
                thing.note = "changed"
            change_many(things, ["note"])
        with CaptureQueriesContext(connection) as found:
            undo(change_set, keeper)
        return len(found)

    assert queries(100) <= queries(10) + 8  # a few more batches, not a few more for each
