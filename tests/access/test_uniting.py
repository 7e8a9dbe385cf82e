"""Uniting two records: everything that points to the one points to the other, and one undo brings both back."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.apps import apps
from django.urls import reverse

from archive.access.changes import changing
from archive.access.models import ActedForm, ChangeSet, HistoryRow
from archive.access.undo import BOOKKEEPING, undo
from archive.access.uniting import CannotUnite, pointing_to, unite
from archive.boxes.models import Box
from archive.people import actions as people
from archive.people.models import Parentage, Partnership, Person, PersonName
from archive.pictures.models import PersonMark, Picture
from archive.places import actions as places
from archive.places.models import Place, PlaceName
from archive.preferences.queries import preferences
from archive.search.models import SearchEntry
from archive.sorting.models import FirstLook, Group, GroupThing, Lot
from archive.stories.models import Story, StoryPerson, StoryPlace, StoryThing
from archive.things.actions import add_thing, issue_number
from archive.things.models import Inscription, Loan, Piece, PiecePerson, Share, Thing, ThingPerson, ThingPlace
from conservation.housing.models import HousingDecision
from conservation.on_show.models import (
    BarredSpot,
    DisplayPlan,
    LightUse,
    OccasionThing,
    OwnOccasion,
    PlannedShowing,
    Showing,
    Spot,
    ThingLight,
)
from conservation.rooms.cold.models import ColdTrip
from conservation.rooms.freezing.models import Freezing, FreezingThing
from conservation.rooms.living.models import MoveDecision
from conservation.rooms.rounds.models import Finding, FindingThing

pytestmark = pytest.mark.django_db


@pytest.fixture
def make(keeper: Any) -> Callable[..., Any]:
    """Record a person, place or thing by the word for it."""

    def record(word: str, name: str = "Somebody", **values: Any) -> Any:
        if word == "person":
            return people.add_person(keeper, {"name": name, **values}, preferences())
        if word == "place":
            return places.add_place(keeper, {"name": name, **values})
        return add_thing(keeper, {"title": name, "kind_code": "letter", **values}, [], preferences())

    return record


def _saved(row: Any) -> Any:
    row.save()
    return row


def _lot(**values: Any) -> Any:
    return _saved(Lot(serial=issue_number("lots"), title="A lot", **values))


def _box() -> Any:
    return _saved(Box(serial=issue_number("boxes"), title="A box"))


def _story(**values: Any) -> Any:
    return _saved(Story(title="A story", body="Told.", **values))


def _picture(thing: Any, **values: Any) -> Any:
    return _saved(
        Picture(thing=thing, sha256="a" * 64, original_name="p.jpg", mime="image/jpeg", width=9, height=9, **values)
    )


def _spot() -> Any:
    return _saved(Spot(title="A wall", form="wall"))


def _plan() -> Any:
    return _saved(DisplayPlan(title="A year", starts_on=date(2026, 1, 5)))


_other = itertools.count(1)  # so that no two rows of a table say the same


# How a row is made that points to a record by one foreign key. A new table needs a line here, or the test fails.
ROWS: dict[str, Callable[[Any, Any], Any]] = {
    "archive.FirstLook.packed_by": lambda it, make: _saved(FirstLook(box=_box(), packed_by=it)),
    "archive.GroupThing.thing": lambda it, make: _saved(GroupThing(group=_saved(Group(title="G")), thing=it)),
    "archive.Inscription.thing": lambda it, make: _saved(Inscription(thing=it, text=f"AD {next(_other)}")),
    "archive.Loan.person": lambda it, make: _saved(Loan(thing=make("thing"), person=it, since=date(2020, 1, 2))),
    "archive.Loan.thing": lambda it, make: _saved(
        Loan(thing=it, to_text=f"school {next(_other)}", since=date(2020, 1, 2))
    ),
    "archive.Lot.from_where": lambda it, make: _lot(from_where=it),
    "archive.Lot.from_whom": lambda it, make: _lot(from_whom=it),
    "archive.Parentage.child": lambda it, make: _saved(Parentage(child=it, parent=make("person"))),
    "archive.Parentage.parent": lambda it, make: _saved(Parentage(child=make("person"), parent=it)),
    "archive.Partnership.one": lambda it, make: _saved(Partnership(one=it, other=make("person"))),
    "archive.Partnership.other": lambda it, make: _saved(Partnership(one=make("person"), other=it)),
    "archive.Person.born_where": lambda it, make: make("person", born_where=it),
    "archive.Person.died_where": lambda it, make: make("person", died_where=it),
    "archive.PersonMark.person": lambda it, make: _saved(PersonMark(picture=_picture(make("thing")), person=it)),
    "archive.PersonName.person": lambda it, make: _saved(PersonName(person=it, name=f"Idchen {next(_other)}")),
    "archive.Picture.thing": lambda it, make: _picture(it),
    "archive.Piece.thing": lambda it, make: _saved(Piece(thing=it, order=next(_other))),
    "archive.PiecePerson.person": lambda it, make: _saved(
        PiecePerson(piece=_saved(Piece(thing=make("thing"), order=1)), person=it)
    ),
    "archive.Place.within": lambda it, make: make("place", "Inner", within=it),
    "archive.PlaceName.place": lambda it, make: _saved(PlaceName(place=it, name=f"Old name {next(_other)}")),
    "archive.Share.person": lambda it, make: _saved(Share(thing=make("thing"), person=it)),
    "archive.Share.thing": lambda it, make: _saved(Share(thing=it, person=make("person"))),
    "archive.Story.teller": lambda it, make: _story(teller=it),
    "archive.StoryPerson.person": lambda it, make: _saved(StoryPerson(story=_story(), person=it)),
    "archive.StoryPlace.place": lambda it, make: _saved(StoryPlace(story=_story(), place=it)),
    "archive.StoryThing.thing": lambda it, make: _saved(StoryThing(story=_story(), thing=it)),
    "archive.Thing.borrowed_from": lambda it, make: make("thing", borrowed_from=it),
    "archive.Thing.came_from": lambda it, make: make("thing", came_from=it),
    "archive.ThingPerson.person": lambda it, make: _saved(ThingPerson(thing=make("thing"), person=it)),
    "archive.ThingPerson.thing": lambda it, make: _saved(ThingPerson(thing=it, person=make("person"))),
    "archive.ThingPlace.place": lambda it, make: _saved(ThingPlace(thing=make("thing"), place=it)),
    "archive.ThingPlace.thing": lambda it, make: _saved(ThingPlace(thing=it, place=make("place"))),
    "conservation.HousingDecision.thing": lambda it, make: _saved(
        HousingDecision(thing=it, form="box", words=f"box {next(_other)}")
    ),
    "conservation.ColdTrip.thing": lambda it, make: _saved(
        ColdTrip(place=_box(), thing=it, package="box", opens_at=datetime(2026, 1, 1, next(_other) % 24, tzinfo=UTC))
    ),
    "conservation.MoveDecision.thing": lambda it, make: _saved(
        MoveDecision(thing=it, goal=_box(), answer="accepted", reason=f"why {next(_other)}")
    ),
    "conservation.BarredSpot.thing": lambda it, make: _saved(BarredSpot(thing=it, spot=_spot())),
    "conservation.LightUse.thing": lambda it, make: _saved(LightUse(thing=it, what="study", lxh=float(next(_other)))),
    "conservation.OccasionThing.thing": lambda it, make: _saved(
        OccasionThing(thing=it, occasion=_saved(OwnOccasion(title="A day", day=date(2026, 5, 1))))
    ),
    "conservation.PlannedShowing.thing": lambda it, make: _saved(
        PlannedShowing(thing=it, spot=_spot(), plan=_plan(), from_week=next(_other), weeks=3)
    ),
    "conservation.Showing.thing": lambda it, make: _saved(
        Showing(thing=it, spot=_spot(), went_up=date(2026, 1, 1), came_down=date(2026, 2, 1))
    ),
    "conservation.ThingLight.thing": lambda it, make: _saved(ThingLight(thing=it, years_per_fade=next(_other))),
}
ROWS |= {
    "conservation.FindingThing.thing": lambda it, make: _saved(
        FindingThing(finding=_saved(Finding(room=_box(), check_code="moth")), thing=it)
    ),
    "conservation.FreezingThing.thing": lambda it, make: _saved(
        FreezingThing(freezing=_saved(Freezing(title="A bag")), thing=it)
    ),
}
MODELS = {"person": Person, "place": Place, "thing": Thing}


def _everything() -> dict[str, list[tuple[Any, ...]]]:
    """Return all rows of all tables but history and what is written beside it, without bookkeeping columns."""
    found = {}
    for model in apps.get_models(include_auto_created=True):
        if issubclass(model, HistoryRow) or model in (ChangeSet, ActedForm, SearchEntry):
            continue
        columns = [c.attname for c in model._meta.concrete_fields if c.name not in BOOKKEEPING]
        found[model._meta.label] = sorted(model._default_manager.values_list(*columns), key=repr)
    return found


def _key(column: Any) -> str:
    return f"{column.model._meta.label}.{column.name}"


@pytest.mark.parametrize("word", MODELS)
def test_every_foreign_key_moves_and_undo_brings_every_table_back(word: str, make: Any, keeper: Any) -> None:
    columns = pointing_to(MODELS[word])
    missing = {_key(column) for column in columns} - set(ROWS)
    assert not missing, f"no row of this test points to a {word} by {missing}"
    # What has no history could not be undone.
    assert all(hasattr(column.model, "history") for column in columns)
    keep, lose = make(word, "Ida"), make(word, "Ita")
    with changing(keeper, "test"):
        rows = [(column, ROWS[_key(column)](lose, make)) for column in columns]
        for column in columns:
            if not column.unique:
                ROWS[_key(column)](keep, make)  # the kept one has its own
    assert len(rows) >= {"person": 16, "place": 7, "thing": 9}[word]
    before = _everything()
    unite(keeper, keep, lose)
    for column, row in rows:
        assert getattr(column.model._default_manager.get(pk=row.pk), column.attname) == keep.pk, _key(column)
        assert not column.model._default_manager.filter(**{column.name: lose.pk}).exists()
        # The move stands in the row's history, in the one change set.
        last = column.model.history.filter(id=row.pk).latest("history_id")
        assert last.change_set == ChangeSet.objects.latest("pk")
    lose.refresh_from_db()
    assert lose.united_with == keep.public_id and lose.withdrawn_at is not None
    assert _everything() != before
    undo(ChangeSet.objects.latest("pk"), keeper)
    assert _everything() == before


def test_of_what_there_is_once_the_kept_ones_stands(make: Any, keeper: Any) -> None:
    keep, lose = make("thing", "Quilt"), make("thing", "Quilt again")
    with changing(keeper, "test"):
        ThingLight(thing=keep, years_per_fade=100).save()
        ThingLight(thing=lose, years_per_fade=20).save()
    before = _everything()
    unite(keeper, keep, lose)
    row = ThingLight.objects.get()
    assert (row.thing, row.years_per_fade) == (keep, 100)
    undo(ChangeSet.objects.latest("pk"), keeper)
    assert _everything() == before


def test_what_both_say_stands_once_and_gaps_are_filled(make: Any, keeper: Any) -> None:
    keep, lose = (
        make("person", "Ida Wray", born_text="1902"),
        make("person", "Ida Aldermoor", born_text="1901", died_text="1971", note="Twin.", known_dead=True),
    )
    letter, partner, child = make("thing", "Letter"), make("person", "Olaf"), make("person", "Karl")
    with changing(keeper, "test"):
        for person in (keep, lose):
            ThingPerson(thing=letter, person=person, role="wrote").save()
            Parentage(child=child, parent=person).save()
            StoryPerson(story=Story.objects.first() or _story(), person=person).save()
        Partnership(one=keep, other=partner).save()
        Partnership(one=partner, other=lose, since_text="1925", since_edtf="1925", since_earliest="1925-01-01",
                    since_latest="1925-12-31").save()  # fmt: skip
    before = _everything()
    unite(keeper, keep, lose)
    assert ThingPerson.objects.get().person == keep and Parentage.objects.get().parent == keep
    assert StoryPerson.objects.get().person == keep
    wed = Partnership.objects.get()
    assert (wed.one, wed.other, wed.since_text, wed.since_latest) == (keep, partner, "1925", "1925-12-31")
    keep.refresh_from_db()
    # 1901 does not replace 1902; the date of death comes with all that was read from it.
    assert (keep.name, keep.born_text, keep.born_edtf) == ("Ida Wray", "1902", "1902")
    assert (keep.died_text, keep.died_edtf, keep.died_latest) == ("1971", "1971", "1971-12-31")
    assert keep.note == "Twin." and keep.known_dead and keep.access == "relatives"
    name = keep.names.get()
    assert (name.name, name.sort) == ("Ida Aldermoor", "spelt")
    undo(ChangeSet.objects.latest("pk"), keeper)
    assert _everything() == before


def test_an_unread_date_is_not_given_the_days_of_another(make: Any, keeper: Any) -> None:
    keep, lose = make("person", "Ida", born_text="when the ice broke"), make("person", "Ida", born_text="1901")
    unite(keeper, keep, lose)
    keep.refresh_from_db()
    assert (keep.born_text, keep.born_edtf, keep.born_latest) == ("when the ice broke", "", "")
    assert not keep.names.exists()  # the same name is not written twice


def test_leaves_of_two_records_of_one_album(make: Any, keeper: Any) -> None:
    """Leaves that agree become one with all that hangs on them; where two differ, none is lost."""
    keep, lose, ida, olaf = (
        make("thing", "Album"),
        make("thing", "Album"),
        make("person", "Ida"),
        make("person", "Olaf"),
    )
    with changing(keeper, "test"):
        mine, theirs = (_saved(Piece(thing=thing, order=1)) for thing in (keep, lose))
        for piece, person in ((mine, ida), (theirs, ida), (theirs, olaf)):
            PiecePerson(piece=piece, person=person).save()
        _picture(keep, piece=mine, caption="first")
        _picture(lose, piece=theirs, caption="second")
    before = _everything()
    unite(keeper, keep, lose)
    assert keep.pieces.get() == mine
    assert {row.person for row in mine.person_rows.all()} == {ida, olaf} and mine.person_rows.count() == 2
    assert [(p.caption, p.piece) for p in keep.pictures.order_by("position")] == [("first", mine), ("second", mine)]
    undo(ChangeSet.objects.latest("pk"), keeper)
    assert _everything() == before
    with changing(keeper, "test"):
        for piece, words in ((mine, "the ferry"), (theirs, "the mill")):
            piece.title = words
            piece.save()
        _saved(Piece(thing=lose, order=1, side="back", title="the mill, behind"))
    unite(keeper, keep, lose)
    assert [(p.order, p.title) for p in keep.pieces.all()] == [
        (1, "the ferry"),
        (2, "the mill"),
        (2, "the mill, behind"),
    ]


def test_nobody_is_united_with_their_own_kin(make: Any, keeper: Any) -> None:
    ida, karl, mia, olaf = (make("person", name) for name in ("Ida", "Karl", "Mia", "Olaf"))
    people.add_parent(keeper, karl, ida)
    people.add_parent(keeper, mia, karl)
    people.add_partner(keeper, ida, olaf, {}, preferences())
    before = _everything()
    for keep, lose, words in (
        (ida, karl, "Karl → Ida"), (karl, ida, "Karl → Ida"), (mia, ida, "Mia → Karl → Ida"),
        (ida, olaf, "recorded as partners"), (olaf, ida, "recorded as partners"), (ida, ida, "the same record"),
    ):  # fmt: skip
        with pytest.raises(CannotUnite, match=words):
            unite(keeper, keep, lose)
    town = make("place", "Skerrow")
    house = make("place", "Ferry house", within=make("place", "Quay", within=town))
    with pytest.raises(CannotUnite, match="Ferry house → Quay → Skerrow"):
        unite(keeper, town, house)
    assert Person.objects.filter(united_with="").count() == 4 and {**_everything(), "archive.Place": []} == {
        **before, "archive.Place": []}  # fmt: skip


def test_an_accepted_lot_does_not_stand_in_the_way(make: Any, keeper: Any) -> None:
    from django.utils import timezone

    keep, lose = make("person", "Ida"), make("person", "Ita")
    with changing(keeper, "test"):
        lot = _lot(from_whom=lose)
        lot.accepted_at = timezone.now()
        lot.save()
    before = _everything()
    unite(keeper, keep, lose)
    lot.refresh_from_db()
    assert lot.from_whom == keep
    undo(ChangeSet.objects.latest("pk"), keeper)
    assert _everything() == before


# -- the pages ---------------------------------------------------------------------------------------------------------


def test_the_page_offers_near_names_compares_and_asks(as_keeper: Any, make: Any) -> None:
    ida = make("person", "Ida Aldermoor", born_text="1902", access="all", note="Sang.")
    twin = make("person", "Aldermoor, Idda", died_text="1971", access="keeper", note="Secret note.")
    make("person", "Olaf Wray")
    address = reverse("access:unite", args=["people", ida.public_id])
    choose = as_keeper.get(address).content.decode()
    assert f"?other={twin.public_id}" in choose and "Olaf" not in choose
    assert as_keeper.get(address, {"typed": "idda ALDERMOOR"}).status_code == 422
    found = as_keeper.get(address, {"typed": "aldermoor, idda"})
    assert found.status_code == 302 and found["Location"].endswith(f"?other={twin.public_id}")
    compare = as_keeper.get(found["Location"]).content.decode()
    assert "1902" in compare and "1971" in compare and "Secret note." in compare
    assert re.search(r'<option value="keeper" selected>', compare)  # the narrower of the two
    done = as_keeper.post(address, {"other": twin.public_id, "keep": "this", "access": "keeper", "join_notes": "1"})
    ida.refresh_from_db()
    assert done["Location"] == ida.get_absolute_url()
    assert (ida.access, ida.died_text, ida.note) == ("keeper", "1971", "Sang.\n\nSecret note.")
    assert as_keeper.get(reverse("access:unite", args=["boxes", ida.public_id])).status_code == 404
    again = as_keeper.post(address, {"other": twin.public_id})
    assert again.status_code == 422 and "withdrawn" in again.content.decode()


def test_the_other_one_can_be_the_one_that_stays(as_keeper: Any, make: Any) -> None:
    boy, haken = make("person", "the boy on the right", unidentified=True), make("person", "Haken")
    address = reverse("access:unite", args=["people", boy.public_id])
    assert (
        "<strong><bdi>Haken</bdi></strong> stays"
        in as_keeper.get(address, {"other": haken.public_id, "keep": "other"}).content.decode()
    )
    as_keeper.post(address, {"other": haken.public_id, "keep": "other"})
    haken.refresh_from_db()
    assert not haken.unidentified and haken.withdrawn_at is None
    assert [(name.name, name.sort) for name in haken.names.all()] == [("the boy on the right", "called")]


@pytest.mark.parametrize("word", MODELS)
def test_the_lost_ones_address_leads_to_the_kept_one_for_whoever_may_see_it(
    word: str, make: Any, as_keeper: Any, as_relative: Any, keeper: Any
) -> None:
    first, second, third = (make(word, f"Name {n}") for n in range(3))
    gone = second.get_absolute_url()
    unite(keeper, first, second)
    unite(keeper, third, first)  # and the kept one is united in turn
    for client in (as_keeper, as_relative):
        assert client.get(gone)["Location"] == third.get_absolute_url()
        assert client.get(first.get_absolute_url())["Location"] == third.get_absolute_url()
        if word == "thing":
            assert client.get(reverse("tag", args=[second.number]))["Location"] == third.get_absolute_url()
            piece = client.get(reverse("tag_piece", args=[second.number, "7"]))["Location"]
            assert piece.partition("?")[0] == third.get_absolute_url()
    third.refresh_from_db()
    third.access = "keeper"
    with changing(keeper, "test"):
        third.save()
    assert as_relative.get(gone).status_code == 404
    # The two acts undone in turn, each stands for itself again.
    for change_set in ChangeSet.objects.filter(verb="access.unite").order_by("-pk"):
        undo(change_set, keeper)
    assert as_keeper.get(gone).status_code == 200


def test_what_is_brought_back_is_one_of_its_own(make: Any, as_keeper: Any, keeper: Any) -> None:
    keep, lose = make("person", "Ida"), make("person", "Ita")
    unite(keeper, keep, lose)
    as_keeper.post(reverse("access:bring_back", args=["people", lose.public_id]))
    assert as_keeper.get(lose.get_absolute_url()).status_code == 200


def test_what_others_name_is_not_destroyed_but_said(make: Any, keeper: Any) -> None:
    from archive.access.actions import destroy, withdraw
    from archive.access.subjects import subject

    place = make("place", "Skerrow")
    make("person", "Ida", born_where=place)
    withdraw(keeper, place, "not ours")
    with pytest.raises(ValueError, match="still named by another record: Ida"):
        destroy(keeper, subject("places"), place, "not ours")
    assert Place.objects.filter(pk=place.pk).exists()
