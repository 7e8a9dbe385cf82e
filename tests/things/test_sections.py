"""The small pages on which one section of a thing is changed: nothing typed is lost, nothing is overwritten."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

pytestmark = pytest.mark.django_db


def rows(*each: dict[str, Any], there: int = 0, **more: Any) -> dict[str, Any]:
    """A filled-in sheet of rows, as a browser sends it."""
    sent: dict[str, Any] = {"rows-TOTAL_FORMS": len(each), "rows-INITIAL_FORMS": there, **more}
    for number, row in enumerate(each):
        sent |= {f"rows-{number}-{name}": value for name, value in row.items() if value is not None}
    return sent


def of(row: Any, **values: Any) -> dict[str, Any]:
    return {"row": row.public_id, "opened": row.version, **values}


def url(thing: Any, name: str) -> str:
    return reverse(f"things:{name}", args=[thing.public_id])


def test_people_are_added_changed_removed_and_undone(as_keeper: Any, make_thing: Any) -> None:
    from archive.access.models import ChangeSet
    from archive.people.models import Person

    thing = make_thing()
    sheet = rows(
        {"person": "Elsbeth", "role": "wrote", "sure": "on"}, {"person": "Tobias", "role": "received"},
        {"person": " elsbeth ", "role": "named", "sure": "on"}, {"role": "shown", "sure": "on"},
    )  # fmt: skip
    answer = as_keeper.post(url(thing, "people"), sheet)
    assert answer["Location"] == thing.get_absolute_url() + "#people"
    # One new name typed twice is one person; the empty row is none.
    assert sorted(Person.objects.values_list("name", flat=True)) == ["Elsbeth", "Tobias"]
    assert {(r.person.name, r.role, r.sure) for r in thing.person_rows.all()} == {
        ("Elsbeth", "wrote", True), ("Tobias", "received", False), ("Elsbeth", "named", True),
    }  # fmt: skip
    page = as_keeper.get(thing.get_absolute_url()).content.decode()
    assert "Written or signed by" in page and "Received by" in page and "perhaps" in page
    wrote, received, named = (thing.person_rows.get(role=role) for role in ("wrote", "received", "named"))
    sheet = rows(
        of(wrote, person="Elsbeth", role="made", sure="on"), of(received, person="Tobias", role="received"),
        of(named, person="Elsbeth", role="named", sure="on", remove="on"), there=3,
    )  # fmt: skip
    as_keeper.post(url(thing, "people"), sheet)
    assert set(thing.person_rows.values_list("role", "version")) == {("made", 2), ("received", 1)}
    for change in ChangeSet.objects.filter(verb="things.people").order_by("-pk"):
        as_keeper.post(reverse("access:undo", args=[change.public_id]))
    assert not thing.person_rows.exists() and not Person.objects.exists()


def test_one_person_twice_in_a_role_gives_a_sentence(as_keeper: Any, make_thing: Any) -> None:
    from archive.people.models import Person
    from archive.things.link_actions import RowChange, set_people

    thing = make_thing()
    twice = rows({"person": "Ragna", "role": "made"}, {"person": "RAGNA", "role": "made"}, {"person": "Ida"})
    answer = as_keeper.post(url(thing, "people"), twice)
    page = answer.content.decode()
    assert answer.status_code == 422 and "This stands here twice" in page and 'value="Ida"' in page
    assert not Person.objects.exists()
    # Somebody else added her while the sheet was open: the database refuses, the page says so, nothing is half saved.
    ragna = Person(name="Ragna")
    from archive.access.changes import changing

    with changing(None, "people.add"):
        ragna.save()
    set_people(None, thing, [RowChange(None, {"person": ragna, "role": "made"})])
    answer = as_keeper.post(url(thing, "people"), rows({"person": "Ragna", "role": "made"}, {"person": "Ida"}))
    page = answer.content.decode()
    assert answer.status_code == 422 and "would stand here twice" in page and 'value="Ida"' in page
    assert thing.person_rows.count() == 1 and not Person.objects.filter(name="Ida").exists()


def test_a_row_stays_with_its_person_though_two_share_the_name(as_keeper: Any, make_thing: Any) -> None:
    from archive.access.changes import changing
    from archive.people.models import Person
    from archive.things.link_actions import RowChange, set_people

    thing = make_thing()
    with changing(None, "people.add"):
        one, other = Person(name="Anna"), Person(name="Anna")
        one.save()
        other.save()
    set_people(None, thing, [RowChange(None, {"person": other, "role": "shown"})])
    row = thing.person_rows.get()
    as_keeper.post(url(thing, "people"), rows(of(row, person="Anna", role="made", sure="on"), there=1))
    row.refresh_from_db()
    assert (row.person, row.role) == (other, "made") and Person.objects.count() == 2
    answer = as_keeper.post(url(thing, "people"), rows({"person": "Anna", "role": "named"}))
    assert answer.status_code == 422 and "2 people are recorded as Anna. Make them one" in answer.content.decode()


def test_two_keepers_and_one_row(as_keeper: Any, make_thing: Any) -> None:
    """What both changed is asked, what one changed is kept, what one took off stays off or is asked."""
    from archive.things.link_actions import RowChange, set_inscriptions

    thing = make_thing()
    first = {"where": "on the back", "text": "Skerrow, 1910", "reading": ""}
    set_inscriptions(None, thing, [RowChange(None, first)])
    row = thing.inscriptions.get()
    opened = of(row)
    set_inscriptions(None, thing, [RowChange(row, {**first, "reading": "Their reading"})])
    # I changed another field of the row as it stood before: both are kept.
    as_keeper.post(url(thing, "inscriptions"), rows({**opened, **first, "where": "inside the lid"}, there=1))
    row.refresh_from_db()
    assert (row.where, row.reading, row.version) == ("inside the lid", "Their reading", 3)
    # I changed the same field: asked, and the second sending stands.
    mine = {**first, "reading": "My reading"}
    answer = as_keeper.post(url(thing, "inscriptions"), rows({**opened, **mine}, there=1))
    page = answer.content.decode()
    assert answer.status_code == 422 and "it is now “Their reading”" in page and "My reading" in page
    assert f'name="rows-0-opened" value="{row.version}"' in page
    as_keeper.post(url(thing, "inscriptions"), rows({"row": row.public_id, "opened": 3, **mine}, there=1))
    row.refresh_from_db()
    assert row.reading == "My reading"
    # I take off what somebody else has just changed: asked first.
    gone = {"row": row.public_id, "opened": 3, **mine, "remove": "on"}
    answer = as_keeper.post(url(thing, "inscriptions"), rows(gone, there=1))
    assert answer.status_code == 422 and "Save again to remove it" in answer.content.decode()
    assert thing.inscriptions.exists()
    # Taken off meanwhile: an unchanged row stays off, a changed one is asked about.
    now = of(row, where=row.where, text=row.text, reading=row.reading)
    set_inscriptions(None, thing, [RowChange(row, {}, remove=True)])
    assert as_keeper.post(url(thing, "inscriptions"), rows(now, there=1)).status_code == 302
    assert not thing.inscriptions.exists()
    answer = as_keeper.post(url(thing, "inscriptions"), rows({**now, "text": "Better read"}, there=1))
    assert answer.status_code == 422 and "took this row off meanwhile" in answer.content.decode()
    again = {**now, "row": "", "opened": "", "text": "Better read"}
    assert as_keeper.post(url(thing, "inscriptions"), rows(again, there=1)).status_code == 302
    assert thing.inscriptions.get().text == "Better read"


def test_a_row_of_another_thing_cannot_be_reached(as_keeper: Any, make_thing: Any) -> None:
    from archive.things.link_actions import RowChange, set_inscriptions

    mine, other = make_thing("mine"), make_thing("other")
    set_inscriptions(None, other, [RowChange(None, {"text": "Stays"})])
    row = other.inscriptions.get()
    as_keeper.post(url(mine, "inscriptions"), rows(of(row, text="Changed"), there=1))
    as_keeper.post(url(mine, "inscriptions"), rows(of(row, text="Stays", remove="on"), there=1))
    assert other.inscriptions.get().text == "Stays"


def test_pieces_and_their_numbers(as_keeper: Any, make_thing: Any) -> None:
    from archive.access.models import ChangeSet

    thing = make_thing("Album")
    as_keeper.post(url(thing, "pieces"), {"last": "12"})
    assert list(thing.pieces.values_list("order", flat=True)) == list(range(1, 13))
    sheet = rows(
        {"order": "4", "side": "back", "title": "The ferry", "made_text": "summer 1931", "people": "Ida; Tobias; ida"},
        {"title": "takes the next number"},
    )
    as_keeper.post(url(thing, "pieces"), sheet)
    back = thing.pieces.get(order=4, side="back")
    assert back.made_edtf == "1931-22" and sorted(p.name for p in back.people.all()) == ["Ida", "Tobias"]
    assert thing.pieces.get(title="takes the next number").order == 13
    answer = as_keeper.get(reverse("things:list"), {"number": f"{thing.number}/4"})
    assert answer["Location"] == f"{thing.get_absolute_url()}?piece=4#piece-4"
    assert as_keeper.get(f"/t/{thing.number}/4/")["Location"] == answer["Location"]
    page = as_keeper.get(answer["Location"]).content.decode()
    assert 'id="piece-4" class="asked-for"' in page and 'id="piece-4-back"' in page and "Ida" in page
    assert "no piece" in as_keeper.get(thing.get_absolute_url(), {"piece": "99"}).content.decode()
    assert as_keeper.get(f"/t/{thing.number}/0/").status_code == 404
    twice = as_keeper.post(url(thing, "pieces"), rows({"order": "4", "side": "back"}))
    assert twice.status_code == 422 and "would stand here twice" in twice.content.decode()
    # Many more: the page of a piece shows that piece, made and taken back as one act.
    as_keeper.post(url(thing, "pieces"), {"last": "300"})
    page = as_keeper.get(thing.get_absolute_url(), {"piece": "250"}).content.decode()
    assert f"{thing.number}/250" in page and f"{thing.number}/12<" not in page and "Earlier pieces" in page
    as_keeper.post(reverse("access:undo", args=[ChangeSet.objects.filter(verb="things.make_pieces").last().public_id]))
    assert thing.pieces.count() == 14
    assert as_keeper.post(url(thing, "pieces"), {"last": "2001"}).status_code == 422


def test_a_removed_piece_keeps_its_picture_and_comes_back_whole(as_keeper: Any, make_thing: Any, keeper: Any) -> None:
    from archive.access.models import ChangeSet
    from archive.pictures.actions import edit_picture

    thing = make_thing(pictures=2)
    as_keeper.post(url(thing, "pieces"), rows({"order": "1", "title": "Leaf", "people": "Ida"}))
    piece, picture = thing.pieces.get(), thing.pictures.first()
    edit_picture(keeper, picture, {"piece": piece})
    page = as_keeper.get(thing.get_absolute_url()).content.decode()
    assert page.index("Pieces</h2>") < page.index(picture.public_id)  # it stands with its piece
    as_keeper.post(url(thing, "pieces"), rows(of(piece, order="1", remove="on"), there=1))
    picture.refresh_from_db()
    assert picture.piece is None and not thing.pieces.exists()
    removed = ChangeSet.objects.filter(verb="things.pieces").last()
    as_keeper.post(reverse("access:undo", args=[removed.public_id]))
    picture.refresh_from_db()
    assert picture.piece.title == "Leaf" and [p.name for p in picture.piece.people.all()] == ["Ida"]


def test_sections_of_the_things_own_fields_are_merged(as_keeper: Any, make_thing: Any, keeper: Any) -> None:
    from archive.things.actions import set_fields

    thing = make_thing()
    page = as_keeper.get(url(thing, "coming")).content.decode()
    assert 'name="opened_version" value="1"' in page
    mine = {"opened_version": "1", "came_how": "gift", "came_from": "Ida", "came_text": "about 1985", "came_note": ""}
    set_fields(keeper, thing, {"came_note": "Theirs"}, "things.coming")
    as_keeper.post(url(thing, "coming"), mine)
    thing.refresh_from_db()
    assert (thing.came_how, thing.came_from.name, thing.came_edtf) == ("gift", "Ida", "1985~")
    assert thing.came_note == "Theirs"  # what they wrote meanwhile stays
    answer = as_keeper.post(url(thing, "coming"), {**mine, "came_note": "Mine"})
    page = answer.content.decode()
    assert answer.status_code == 409 and "Theirs" in page and "Mine" in page and 'value="3"' in page
    as_keeper.post(url(thing, "coming"), {**mine, "opened_version": "3", "came_note": "Mine"})
    thing.refresh_from_db()
    assert (thing.came_note, thing.version) == ("Mine", 4)
    # Nothing changed: no version, no act.
    as_keeper.post(url(thing, "coming"), {**mine, "opened_version": "4", "came_note": "Mine"})
    thing.refresh_from_db()
    assert thing.version == 4


def test_whose_it_is_with_a_warning_and_a_loan_to_us(as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing()
    sheet = rows({"person": "Ida", "part": "1/2"}, {"person": "Tobias", "part": "a quarter"}, opened_version=1)
    sheet |= {"borrowed_from": "The village school", "borrowed_until": "2027-05-01"}
    page = as_keeper.post(url(thing, "owners"), sheet, follow=True).content.decode()
    assert "The parts add up to 3/4. Whose is the rest?" in page
    thing.refresh_from_db()
    assert thing.borrowed_from.name == "The village school" and thing.shares.count() == 2
    bad = rows({"person": "Ragna"}, opened_version=2) | {"borrowed_until": "2027-05-01"}
    answer = as_keeper.post(url(thing, "owners"), bad)
    assert answer.status_code == 422 and "Say from whom it is on loan" in answer.content.decode()
    assert 'value="Ragna"' in answer.content.decode() and thing.shares.count() == 2
    twice = rows({"person": "Ida"}, opened_version=2)
    twice |= {"borrowed_from": "The village school", "borrowed_until": "2027-05-01"}
    answer = as_keeper.post(url(thing, "owners"), twice)
    assert answer.status_code == 422 and "named here twice" in answer.content.decode()


def test_rights_and_significance_want_their_reasons(as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing()
    page = as_keeper.get(url(thing, "rights")).content.decode()
    assert "Owning a letter is not owning its copyright" in page
    sheet = {"opened_version": "1", "show_home": "on", "closed_until": "2099-01-01", "rights_holder": "Ida’s heirs"}
    answer = as_keeper.post(url(thing, "rights"), sheet)
    assert answer.status_code == 422 and "why it is closed" in answer.content.decode()
    past = as_keeper.post(url(thing, "rights"), sheet | {"closed_until": "1999-01-01", "closed_why": "asked for"})
    assert past.status_code == 422 and "This day is past" in past.content.decode()
    as_keeper.post(url(thing, "rights"), sheet | {"closed_why": "asked for"})
    thing.refresh_from_db()
    assert str(thing.closed_until) == "2099-01-01" and thing.show_home and not thing.show_link
    answer = as_keeper.post(url(thing, "significance"), {"opened_version": "2", "significance": "5"})
    assert answer.status_code == 422 and "Give your reason" in answer.content.decode()
    as_keeper.post(
        url(thing, "significance"), {"opened_version": "2", "significance": "5", "significance_why": "The only one"}
    )
    thing.refresh_from_db()
    assert (thing.significance, thing.significance_why) == (5, "The only one")
    assert as_keeper.post(url(thing, "significance"), {"opened_version": "3", "significance": "6"}).status_code == 422


def test_any_text_fits_everywhere(as_keeper: Any, make_thing: Any) -> None:
    odd = "<script>alert('x')</script> \u202e مرحبا 🎻 " + "W" * 200
    thing = make_thing()
    as_keeper.post(url(thing, "people"), rows({"person": odd, "role": "made"}))
    as_keeper.post(url(thing, "places"), rows({"place": odd, "role": "made"}))
    as_keeper.post(url(thing, "inscriptions"), rows({"text": odd, "where": odd[:150], "reading": odd}))
    as_keeper.post(url(thing, "pieces"), rows({"title": odd, "people": odd}))
    as_keeper.post(url(thing, "coming"), {"came_from": odd, "came_text": odd[:150], "came_note": odd})
    assert thing.person_rows.get().person == thing.pieces.get().people.get()
    names = (
        "page",
        "people",
        "places",
        "pieces",
        "inscriptions",
        "coming",
        "owners",
        "rights",
        "significance",
        "loans",
    )
    for name in names:
        answer = as_keeper.get(url(thing, name))
        assert answer.status_code == 200 and "<script>alert" not in answer.content.decode()


def test_states_are_written_by_codes_that_exist(make_thing: Any, keeper: Any) -> None:
    from archive.things.actions import set_states

    thing = make_thing()
    set_states(keeper, thing, ["brittle", "sound", "brittle"])
    thing.refresh_from_db()
    assert thing.states == ["brittle"] and thing.version == 2
    set_states(keeper, thing, ["brittle"])
    assert thing.version == 2
    with pytest.raises(ValueError, match="shiny"):
        set_states(keeper, thing, ["shiny"])
