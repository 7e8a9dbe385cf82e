"""Lots: first order, acceptance that freezes whoever writes, the view as it came, and keeping apart until a day."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from tests.conftest import jpeg

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot(keeper: Any) -> Any:
    from archive.sorting.lot_actions import add_lot

    return add_lot(keeper, {"title": "Sea chest", "position_note": "Shirts on top", "wrapper_text": "FRAGIEL"})


def fill(keeper: Any, lot: Any, things: list[Any]) -> None:
    from archive.sorting.lot_actions import add_members

    add_members(keeper, lot, things)


def test_a_lot_from_arrival_to_its_first_order(as_keeper: Any, make_thing: Any) -> None:
    from archive.sorting.models import Lot

    sent = {
        "title": "Sea chest", "from_whom": "Aunt Ragna", "from_where": "Skerrow", "arrived_text": "March 2019",
        "found_in": "The hall cupboard", "position_note": "Shirts on top, letters below", "wrapper_text": "FRAGIEL",
        "pictures_as_found": [SimpleUploadedFile("a.jpg", jpeg(seed=1))],
        "pictures_wrapper": [SimpleUploadedFile("b.jpg", jpeg(seed=2))],
    }  # fmt: skip
    page = as_keeper.post(reverse("sorting:add_lot"), sent, follow=True)
    lot = Lot.objects.get()
    assert page.redirect_chain[-1][0] == reverse("sorting:lot_members", args=[lot.public_id])
    assert (lot.from_whom.name, lot.from_where.name, lot.arrived_edtf) == ("Aunt Ragna", "Skerrow", "2019-03")
    assert [p.view for p in lot.pictures.all()] == ["as-found", "wrapper"]
    one, two, three = make_thing("one"), make_thing("two"), make_thing("three")
    members = reverse("sorting:lot_members", args=[lot.public_id])
    numbers = f"{two.number}, {one.number.replace('-', ' ')}\n{three.number} {two.number}"
    as_keeper.post(members, {"act": "add", "numbers": numbers, "found_where": "second layer"})
    order = list(lot.things.order_by("lot_position").values_list("title", "lot_position", "found_where"))
    assert order == [("two", 1, "second layer"), ("one", 2, "second layer"), ("three", 3, "second layer")]
    # The order is set by numbers; what is taken out is in no lot.
    sent = {f"place-thing-{each.public_id}": place for each, place in ((one, "1"), (two, "7"), (three, "x"))}
    sent |= {f"where-thing-{one.public_id}": "on top", f"out-thing-{three.public_id}": "1"}
    as_keeper.post(members, {"act": "arrange", **sent})
    order = list(lot.things.order_by("lot_position").values_list("title", "lot_position", "found_where"))
    assert order == [("one", 1, "on top"), ("two", 7, "second layer")]
    three.refresh_from_db()
    assert (three.lot, three.lot_position, three.found_where) == (None, None, "")


def test_wrong_numbers_are_named_and_nothing_is_added(as_keeper: Any, make_thing: Any, lot: Any, keeper: Any) -> None:
    from archive.sorting.lot_actions import add_lot

    good, taken = make_thing("good"), make_thing("taken")
    fill(keeper, add_lot(keeper, {"title": "Another lot"}), [taken])
    address = reverse("sorting:lot_members", args=[lot.public_id])
    wrong = good.number[:-1] + ("1" if good.number[-1] != "1" else "2")
    for numbers, words in ((f"{good.number}, {wrong}", "last sign"), (f"{good.number}, {taken.number}", "Another lot"),
                           (f"{good.number}, 9999-9", "9999-9"), ("letter", "0214-6")):  # fmt: skip
        answer = as_keeper.post(address, {"act": "add", "numbers": numbers})
        assert answer.status_code == 422 and words in answer.content.decode() and numbers in answer.content.decode()
    assert lot.things.count() == 0


def test_what_is_accepted_stays_as_it_came(as_keeper: Any, make_thing: Any, lot: Any, keeper: Any) -> None:
    """Each way of changing it that the catalogue knows is refused; the note may be written, and history undoes it."""
    from archive.access.bulk import change_many
    from archive.access.changes import changing
    from archive.access.models import ChangeSet
    from archive.access.undo import CannotUndo, undo
    from archive.pictures.actions import attach, edit_picture, move_picture, remove_picture, take_in
    from archive.preferences.queries import preferences
    from archive.sorting import lot_actions
    from archive.sorting.rules import LotIsAccepted
    from archive.things.actions import edit_thing

    inside, other = make_thing("inside"), make_thing("outside")
    fill(keeper, lot, [inside])
    adding = ChangeSet.objects.get(verb="sorting.add_members")
    taken, _ = take_in([SimpleUploadedFile("a.jpg", jpeg()), SimpleUploadedFile("b.jpg", jpeg(seed=9))])
    picture = lot_actions.add_pictures(keeper, lot, [("as-found", taken)]) and lot.pictures.first()
    page = as_keeper.get(reverse("sorting:accept", args=[lot.public_id])).content.decode()
    seen = page.split('name="seen" value="')[1].split('"')[0]
    # Somebody changes it between looking and accepting: it has to be looked at once more.
    lot_actions.arrange(keeper, lot, [(inside, 3, "below")], [])
    assert as_keeper.post(reverse("sorting:accept", args=[lot.public_id]), {"seen": seen}).status_code == 409
    page = as_keeper.get(reverse("sorting:accept", args=[lot.public_id])).content.decode()
    seen = page.split('name="seen" value="')[1].split('"')[0]
    assert as_keeper.post(reverse("sorting:accept", args=[lot.public_id]), {"seen": seen}).status_code == 302
    lot.refresh_from_db()
    inside.refresh_from_db()
    assert lot.accepted_at is not None

    def bulk() -> None:
        with changing(keeper, "test"):
            inside.lot_position = 9
            change_many([inside], ["lot_position"])

    kept = preferences()
    tries = [
        lambda: lot_actions.edit_lot(keeper, lot, {"position_note": "Letters on top"}),
        lambda: lot_actions.edit_lot(keeper, lot, {"wrapper_text": "FRAGILE"}),
        lambda: lot_actions.add_members(keeper, lot, [other]),
        lambda: lot_actions.arrange(keeper, lot, [(inside, 1, "")], []),
        lambda: lot_actions.arrange(keeper, lot, [], [inside]),
        lambda: lot_actions.add_pictures(keeper, lot, [("wrapper", taken)]),
        lambda: lot_actions.accept(keeper, lot),
        # Ways that know nothing of sorting:
        lambda: edit_thing(keeper, inside, {"lot": None}, kept),
        lambda: edit_thing(keeper, inside, {"found_where": "on top"}, kept),
        lambda: edit_thing(keeper, other, {"lot": lot}, kept),
        lambda: edit_picture(keeper, picture, {"caption": "other"}),
        lambda: move_picture(keeper, picture, 1),
        lambda: remove_picture(keeper, picture),
        lambda: attach(keeper, lot, taken),
        bulk,
    ]  # fmt: skip
    before = _state(lot)
    for number, attempt in enumerate(tries):
        with pytest.raises(LotIsAccepted) as refused:
            attempt()
        assert "accepted" in refused.value.sentence, number
        assert _state(lot) == before, number
        picture = lot.pictures.first()
        for each in (lot, inside, other):
            each.refresh_from_db()
    with pytest.raises(CannotUndo):
        undo(adding, keeper)
    assert _state(lot) == before
    answer = as_keeper.post(reverse("pictures:remove", args=[picture.public_id]))
    assert answer.status_code == 409 and "stay as they are" in answer.content.decode()
    # What is allowed: its note and name, and everything else about its things.
    page = as_keeper.get(reverse("sorting:edit_lot", args=[lot.public_id])).content.decode()
    assert "Its name, its note" in page and 'name="position_note"' not in page
    sent = {"title": "Sea chest", "note": "Elsbeth’s", "opened_version": str(lot.version), "position_note": "mine"}
    assert as_keeper.post(reverse("sorting:edit_lot", args=[lot.public_id]), sent).status_code == 302
    lot.refresh_from_db()
    assert (lot.note, lot.position_note) == ("Elsbeth’s", "Shirts on top")
    edit_thing(keeper, inside, {"note": "A letter after all"}, kept)
    # Undone from the history page, it can be written again.
    change = ChangeSet.objects.get(verb="sorting.accept")
    assert as_keeper.post(reverse("access:undo", args=[change.public_id])).status_code == 302
    lot.refresh_from_db()
    assert lot.accepted_at is None
    lot_actions.edit_lot(keeper, lot, {"position_note": "Letters on top"})


def _state(lot: Any) -> Any:
    from archive.pictures.models import Picture
    from archive.sorting.models import Lot
    from archive.sorting.rules import FROZEN
    from archive.things.models import Thing

    things = Thing.objects.filter(lot=lot).order_by("pk").values_list("pk", "lot_position", "found_where")
    pictures = Picture.objects.filter(lot=lot).order_by("pk").values_list("pk", "position", "view", "caption")
    return list(Lot.objects.filter(pk=lot.pk).values_list(*FROZEN, "accepted_at")), list(things), list(pictures)


def test_two_people_who_are_one_may_be_united_though_a_lot_is_accepted(keeper: Any, make_thing: Any) -> None:
    from archive.access.changes import changing
    from archive.access.models import ChangeSet
    from archive.access.undo import undo
    from archive.access.uniting import unite
    from archive.people.models import Person
    from archive.sorting.lot_actions import accept, add_lot
    from archive.sorting.lot_queries import all_members

    with changing(keeper, "test"):
        first, second = Person(name="Ragna Aldermoor"), Person(name="Aunt Ragna")
        first.save()
        second.save()
    lot = add_lot(keeper, {"title": "Chest", "from_whom": second})
    one, twin = make_thing("Hymn book"), make_thing("Hymnal")
    fill(keeper, lot, [twin])
    accept(keeper, lot)
    unite(keeper, first, second)
    twin.refresh_from_db()
    unite(keeper, one, twin)
    lot.refresh_from_db()
    assert lot.from_whom == first and [each.record for each in all_members(lot, keeper)] == [one]
    for change in ChangeSet.objects.filter(verb="access.unite").order_by("-pk"):
        undo(change, keeper)
    lot.refresh_from_db()
    assert lot.from_whom == second and [each.record for each in all_members(lot, keeper)] == [twin]


def test_as_it_came_keeps_what_has_left(
    as_keeper: Any, as_relative: Any, make_thing: Any, lot: Any, keeper: Any
) -> None:
    from archive.sorting.actions import set_standing
    from archive.sorting.lot_actions import accept

    first, gone, hidden = make_thing("Hymn book"), make_thing("Torn shirt"), make_thing("Secret", access="keeper")
    fill(keeper, lot, [gone, hidden, first])
    accept(keeper, lot)
    values = {
        "standing": "let go", "standing_why": "Spoilt", "standing_on": date(2026, 3, 3), "gone_how": "Binned",
        "gone_agreed": "Jonas", "copy_kept": True, "open_question": "",
    }  # fmt: skip
    gone.refresh_from_db()
    set_standing(keeper, [gone], values)
    address = reverse("sorting:as_it_came", args=[lot.public_id])
    page = as_keeper.get(address).content.decode()
    assert page.index("Torn shirt") < page.index("Secret") < page.index("Hymn book")
    assert "let go, 3 March 2026" in page and "FRAGIEL" in page and "Shirts on top" in page
    page = as_relative.get(address).content.decode()
    # A relative sees neither the hidden thing nor a gap where it lay.
    assert "Secret" not in page and "In its first order: 2" in page
    assert '<td data-label="Place">2</td>' in page and '<td data-label="Place">3</td>' not in page


def test_relatives_do_not_learn_whose_it_was_when_that_is_closed(
    as_relative: Any, as_visitor: Any, keeper: Any
) -> None:
    from archive.access.changes import changing
    from archive.people.models import Person
    from archive.sorting.lot_actions import add_lot

    with changing(keeper, "test"):
        hidden = Person(name="Haken the hidden", access="keeper")
        hidden.save()
    open_lot = add_lot(keeper, {"title": "Open chest", "from_whom": hidden})
    secret = add_lot(keeper, {"title": "Closed chest", "access": "keeper"})
    listed = as_relative.get(reverse("sorting:lots")).content.decode()
    assert "Open chest" in listed and "Closed chest" not in listed
    for name in ("lot", "as_it_came"):
        assert "Haken" not in as_relative.get(reverse(f"sorting:{name}", args=[open_lot.public_id])).content.decode()
        assert as_relative.get(reverse(f"sorting:{name}", args=[secret.public_id])).status_code == 404
        assert as_visitor.get(reverse(f"sorting:{name}", args=[open_lot.public_id])).status_code == 404


def test_kept_apart_until_a_day_then_a_job(
    as_keeper: Any, as_relative: Any, lot: Any, keeper: Any, make_thing: Any
) -> None:
    from archive import extend
    from archive.sorting.lot_queries import due_again

    today = timezone.localdate()
    address = reverse("sorting:quarantine", args=[lot.public_id])
    assert as_keeper.post(address, {"until": today.isoformat(), "why": "Holes"}).status_code == 422
    day = today + timedelta(days=14)
    as_keeper.post(address, {"until": day.isoformat(), "why": "Holes and fresh dust"})
    lot.refresh_from_db()
    assert lot.quarantine_until == day

    def words() -> list[str]:
        return [job.words for job in extend.jobs(keeper) if "Look again at lot" in job.words]

    assert words() == [] and due_again(keeper, day - timedelta(days=1)) == [] and due_again(keeper, day) == [lot]
    fill(keeper, lot, [make_thing("Chair leg")])
    marked = as_relative.get(reverse("things:list")).content.decode()
    assert f"Kept apart until {day.day}" in marked
    # The day has come: the job leads to the page that asks what was seen.
    from archive.sorting.lot_actions import keep_apart

    keep_apart(keeper, lot, today, "Holes and fresh dust")
    (job,) = [job for job in extend.jobs(keeper) if "Look again at lot" in job.words]
    assert job.url == address and job.due == today and job.tier == 2 and "Holes" in job.words
    assert as_keeper.post(address, {"seen": "Still dust", "outcome": "prolong", "until": ""}).status_code == 422
    later = today + timedelta(days=30)
    as_keeper.post(address, {"seen": "Still dust", "outcome": "prolong", "until": later.isoformat()})
    lot.refresh_from_db()
    assert lot.quarantine_until == later and "Still dust" in lot.note and words() == []
    as_keeper.post(address, {"seen": "Nothing moves", "outcome": "release"})
    lot.refresh_from_db()
    assert (lot.quarantine_until, lot.quarantine_why) == (None, "")
    assert "Still dust" in lot.note and "Nothing moves (released)" in lot.note


def test_a_mark_of_a_hidden_lot_is_the_keepers(as_keeper: Any, as_relative: Any, keeper: Any, make_thing: Any) -> None:
    from archive.sorting.lot_actions import add_lot, keep_apart

    hidden = add_lot(keeper, {"title": "Closed", "access": "keeper"})
    fill(keeper, hidden, [make_thing("Open letter", access="relatives")])
    keep_apart(keeper, hidden, timezone.localdate() + timedelta(days=3), "Moths")
    assert "Kept apart" in as_keeper.get(reverse("things:list")).content.decode()
    assert "Kept apart" not in as_relative.get(reverse("things:list")).content.decode()


def test_two_keepers_at_one_lot(as_keeper: Any, lot: Any) -> None:
    address = reverse("sorting:edit_lot", args=[lot.public_id])
    base = {"title": "Sea chest", "position_note": "Shirts on top", "wrapper_text": "FRAGIEL", "opened_version": "1",
            "access": "relatives"}  # fmt: skip
    as_keeper.post(address, base | {"found_in": "Cupboard"})
    assert as_keeper.post(address, base | {"found_with": "An oar"}).status_code == 302
    lot.refresh_from_db()
    assert (lot.found_in, lot.found_with) == ("Cupboard", "An oar")
    answer = as_keeper.post(address, base | {"found_in": "Loft"})
    page = answer.content.decode()
    assert answer.status_code == 409 and "Cupboard" in page and 'value="Loft"' in page


def test_pages_of_a_lot_ask_the_database_a_constant_number_of_times(
    as_keeper: Any, lot: Any, keeper: Any, make_thing: Any
) -> None:
    names = ("lot", "as_it_came", "lot_members")

    def counts() -> list[int]:
        found = []
        for address in [reverse(f"sorting:{name}", args=[lot.public_id]) for name in names] + [reverse("sorting:lots")]:
            as_keeper.get(address)
            with CaptureQueriesContext(connection) as queries:
                as_keeper.get(address)
            found.append(len(queries))
        return found

    fill(keeper, lot, [make_thing(f"thing {n}", pictures=1) for n in range(3)])
    few = counts()
    fill(keeper, lot, [make_thing(f"more {n}", pictures=n % 2) for n in range(27)])
    assert counts() == few and max(few) <= 18
