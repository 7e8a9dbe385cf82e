"""A thing's page: everything that is recorded, for those who may see it, in a fixed number of queries."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

pytestmark = pytest.mark.django_db
HOME = ZoneInfo("Europe/Berlin")  # the zone of the test house: pages count days by its clock
CANARY = "Zinnoberkanarie"


def _person(name: str, **values: Any) -> Any:
    from archive.access.changes import changing
    from archive.people.models import Person

    with changing(None, "people.add"):
        person = Person(name=name, **values)
        person.save()
    return person


def _fill(thing: Any, keeper: Any, how_many: int) -> None:
    """Hang so many rows of every sort on a thing, through the actions."""
    from archive.access.changes import changing
    from archive.access.records import ReadAccess
    from archive.people.queries import NewName
    from archive.places.queries import NewPlace
    from archive.sorting.models import Group, GroupThing, Lot
    from archive.things import actions, link_actions, loan_actions
    from archive.things.link_actions import RowChange

    def new(name: str, values: Any) -> list[RowChange]:
        return [RowChange(None, {each: value(n) for each, value in values.items()}) for n in range(how_many)]

    link_actions.set_people(
        keeper, thing, new("people", {"person": lambda n: NewName(f"P{n}"), "role": lambda n: ["made", "shown"][n % 2]})
    )
    link_actions.set_places(
        keeper, thing, new("places", {"place": lambda n: NewPlace(f"S{n}"), "role": lambda n: "made"})
    )
    link_actions.set_inscriptions(keeper, thing, new("inscriptions", {"text": lambda n: f"Text {n}"}))
    pieces = {
        "order": lambda n: n + 1,
        "made_text": lambda n: "1931",
        "people": lambda n: frozenset({NewName(f"Q{n}")}),
    }
    link_actions.set_pieces(keeper, thing, new("pieces", pieces))
    link_actions.set_owners(
        keeper, thing, new("owners", {"person": lambda n: NewName(f"O{n}"), "part": lambda n: ""}),
        {"borrowed_from": NewName("Lender")},
    )  # fmt: skip
    actions.set_fields(keeper, thing, {"came_from": NewName("Giver"), "came_note": "In a sack"}, "things.coming")
    day = timezone.localdate() - timedelta(days=400)
    for n in range(how_many):
        loan = loan_actions.lend(keeper, thing, {"person": NewName(f"L{n}"), "since": day})
        if n < how_many - 1:
            loan_actions.come_back(keeper, loan, day)
    with changing(keeper, "sorting.lot"):
        lot = Lot(serial=actions.issue_number("lots"), title="The lot", access=ReadAccess.ALL)
        lot.save()
        for n in range(how_many):
            group = Group(title=f"Group {n}", access=ReadAccess.ALL)
            group.save()
            GroupThing(group=group, thing=thing).save()
    actions.set_fields(keeper, thing, {"lot": lot}, "sorting.lot")


def test_the_page_asks_as_often_for_thirty_rows_as_for_three(
    as_keeper: Any, as_relative: Any, as_visitor: Any, make_thing: Any, keeper: Any
) -> None:
    few, many = make_thing("Few", access="all", pictures=1), make_thing("Many", access="all", pictures=3)
    _fill(few, keeper, 3)
    _fill(many, keeper, 30)
    for client in (as_keeper, as_relative, as_visitor):
        counts = []
        for thing in (few, many):
            client.get(thing.get_absolute_url())
            with CaptureQueriesContext(connection) as queries:
                page = client.get(thing.get_absolute_url()).content.decode()
            counts.append(len(queries))
            assert "Text 2" in page and "Q2" in page and "Group 2" in page and f"{thing.number}/3" in page
        assert counts[0] == counts[1] <= 15, [q["sql"][:120] for q in queries.captured_queries]


def test_everything_recorded_is_there_and_nothing_empty(
    as_keeper: Any, as_relative: Any, make_thing: Any, keeper: Any
) -> None:
    thing = make_thing("Full", pictures=2)
    bare = make_thing("Bare")
    _fill(thing, keeper, 2)
    page = as_relative.get(thing.get_absolute_url()).content.decode()
    for words in ("Made by", "P0", "In it", "P1", "Made in", "S1", "Text 1", "With", "Q1", "O1", "Giver", "In a sack",
                  "Lender", "Group 1", "The lot", "not in the house: it is lent"):  # fmt: skip
        assert words in page, words
    assert "L1<" not in page and "For the keeper" not in page and "Add or change" not in page
    page = as_keeper.get(thing.get_absolute_url()).content.decode()
    assert page.count("Add or change people") == 1 and "Lending" in page and "L1<" in page
    page = as_relative.get(bare.get_absolute_url()).content.decode()
    for heading in ("People and places", "How it came", "What is written", "Pieces", "Lending", "Rights", "group"):
        assert heading not in page, heading
    page = as_keeper.get(bare.get_absolute_url()).content.decode()
    assert "Record more about it" in page and reverse("things:rights", args=[bare.public_id]) in page


def test_links_name_only_what_the_reader_may_see(
    as_keeper: Any, as_relative: Any, as_visitor: Any, make_thing: Any, keeper: Any
) -> None:
    """A person, place, lot or group that is private is not named on a thing that is not, nor in its history."""
    from archive.access.changes import changing
    from archive.places.models import Place
    from archive.sorting.models import Group, GroupThing, Lot
    from archive.things import actions, link_actions
    from archive.things.link_actions import RowChange

    thing = make_thing("Open", access="all")
    private = _person(f"{CANARY} person", access="keeper")
    living = _person("Living Cousin", access="all")
    dead = _person("Old Ferryman", access="all", known_dead=True)
    with changing(keeper, "test"):
        place = Place(name=f"{CANARY} place", access="keeper")
        lot = Lot(serial=actions.issue_number("lots"), title=f"{CANARY} lot", access="keeper")
        group = Group(title=f"{CANARY} group", access="keeper")
        for record in (place, lot, group):
            record.save()
        GroupThing(group=group, thing=thing).save()
    rows = [RowChange(None, {"person": each, "role": "shown"}) for each in (private, living, dead)]
    link_actions.set_people(keeper, thing, rows)
    link_actions.set_places(keeper, thing, [RowChange(None, {"place": place, "role": "made"})])
    link_actions.set_pieces(keeper, thing, [RowChange(None, {"order": 1, "people": frozenset({private})})])
    link_actions.set_owners(
        keeper, thing, [RowChange(None, {"person": private, "part": ""})], {"borrowed_from": private}
    )
    actions.set_fields(keeper, thing, {"came_from": private, "lot": lot, "came_how": "gift"}, "things.coming")
    row = thing.person_rows.get(person=living)
    link_actions.set_people(keeper, thing, [RowChange(row, {"person": private, "role": "made"})])
    link_actions.set_people(keeper, thing, [RowChange(row, {"person": living, "role": "shown"})])
    history = reverse("access:history", args=["things", thing.public_id])
    assert as_keeper.get(thing.get_absolute_url()).content.decode().count(CANARY) >= 7
    assert CANARY in as_keeper.get(history).content.decode()
    for client in (as_relative, as_visitor):
        for address in (thing.get_absolute_url(), history, thing.get_absolute_url() + "?piece=1"):
            assert CANARY not in client.get(address, follow=True).content.decode(), address
    assert "Living Cousin" in as_relative.get(thing.get_absolute_url()).content.decode()
    page = as_visitor.get(thing.get_absolute_url()).content.decode()
    assert "Living Cousin" not in page and "Old Ferryman" in page


def test_rights_loans_and_judgements_are_the_keepers_alone(
    as_keeper: Any, as_relative: Any, as_visitor: Any, make_thing: Any, keeper: Any
) -> None:
    """Relatives read how a thing came; the legal notes, the borrower and the keeper's judgement they do not."""
    from archive.things.actions import set_fields
    from archive.things.loan_actions import change_loan, lend

    thing = make_thing("Open", access="all")
    kept = (
        "rights_maker", "rights_holder", "rights_note", "closed_why", "significance_why", "standing_why", "gone_how",
        "gone_agreed",
    )  # fmt: skip
    for words in ("first", "second"):
        values = {name: f"{CANARY} {name} {words}" for name in kept}
        set_fields(keeper, thing, {**values, "closed_until": date(2020, 1, 1), "significance": 1}, "things.rights")
    loan = lend(keeper, thing, {"to_text": f"{CANARY} museum", "since": date(2026, 1, 1), "note": CANARY})
    change_loan(keeper, loan, {"note": f"{CANARY} again"})
    set_fields(keeper, thing, {"came_note": "The story of its coming", "came_how": "gift"}, "things.coming")
    history = reverse("access:history", args=["things", thing.public_id])
    page = as_keeper.get(thing.get_absolute_url()).content.decode()
    for name in kept:
        assert f"{name} second" in page, name
    assert f"{CANARY} museum" in page and f"{CANARY} again" in as_keeper.get(history).content.decode()
    for client in (as_relative, as_visitor):
        for address in (thing.get_absolute_url(), history, reverse("things:list"), reverse("home")):
            answer = client.get(address, follow=True).content.decode()
            assert CANARY not in answer and "of 5" not in answer, address
        for name in ("rights", "loans", "significance", "owners", "coming"):
            assert client.get(reverse(f"things:{name}", args=[thing.public_id])).status_code in (302, 404)
    told = as_relative.get(thing.get_absolute_url()).content.decode()
    assert "The story of its coming" in told and "a loan" not in as_relative.get(history).content.decode()
    assert "The story of its coming" not in as_visitor.get(thing.get_absolute_url()).content.decode()


def test_what_is_closed_until_a_day_is_nowhere_until_then(
    as_keeper: Any, as_relative: Any, as_visitor: Any, make_thing: Any, keeper: Any
) -> None:
    """The thing, its pieces, pictures, number and count; and it opens by itself on its day."""
    from archive.people.queries import NewName
    from archive.things.actions import set_fields
    from archive.things.link_actions import RowChange, make_pieces, set_people

    open_one = make_thing("Open one", access="all")
    thing = make_thing(f"{CANARY} letter", access="all", pictures=1)
    make_pieces(keeper, thing, 2)
    set_people(keeper, thing, [RowChange(None, {"person": NewName("Old Writer"), "role": "wrote"})])
    today = timezone.localdate(timezone=HOME)
    set_fields(keeper, thing, {"closed_until": today + timedelta(days=1), "closed_why": "Promised"}, "things.rights")
    picture = thing.pictures.get()
    hidden = (
        thing.get_absolute_url(), thing.get_absolute_url() + "?piece=1",
        reverse("access:history", args=["things", thing.public_id]),
        reverse("pictures:file", args=[picture.public_id]), reverse("pictures:size", args=[picture.public_id, 320]),
        reverse("pictures:zoom", args=[picture.public_id]),
    )  # fmt: skip
    lists = (reverse("things:list"), reverse("home"), reverse("things:list") + f"?number={thing.number}",
             reverse("things:list") + f"?number={thing.number}/1")  # fmt: skip
    for client in (as_relative, as_visitor):
        for address in hidden:
            answer = client.get(address)
            assert answer.status_code == 404 or "/sign-in" in answer["Location"], address
        for address in lists:
            page = client.get(address, follow=True).content.decode()
            assert CANARY not in page and thing.public_id not in page and "2 things" not in page, address
        for number in (thing.number, f"{thing.number}/1"):
            assert CANARY not in client.get(f"/t/{number}/", follow=True).content.decode()
    page = as_keeper.get(thing.get_absolute_url()).content.decode()
    assert "Closed until" in page and "Promised" in page
    set_fields(keeper, thing, {"closed_until": today}, "things.rights")
    assert as_visitor.get(thing.get_absolute_url()).status_code == 200
    assert "2 things" in as_relative.get(reverse("things:list")).content.decode() and open_one


def test_a_full_thing_can_be_destroyed_for_good(make_thing: Any, keeper: Any) -> None:
    from archive.access.actions import destroy, withdraw
    from archive.access.models import recorded_models
    from archive.access.subjects import subject
    from archive.pictures.actions import edit_picture

    thing = make_thing("Full", pictures=2)
    _fill(thing, keeper, 2)
    edit_picture(keeper, thing.pictures.first(), {"piece": thing.pieces.first()})
    pk = thing.pk
    withdraw(keeper, thing, "No longer ours")
    destroy(keeper, subject("things"), thing, "Asked for by its owner")
    for model in recorded_models():
        if any(f.name == "thing" for f in model._meta.fields):
            assert not model.objects.filter(thing_id=pk).exists(), model
            assert not model.history.filter(thing_id=pk).exists(), model
