"""Rows from a spreadsheet: every bad cell named, nothing saved before it is confirmed, one act, one undo."""

from __future__ import annotations

import html
import re
import time
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from archive.access.models import ChangeSet
from archive.people.models import Person
from archive.places.models import Place
from archive.things.models import Inscription, IssuedNumber, Thing, ThingPerson
from tests.moving.rows import BAD_CELLS, three_thousand

pytestmark = pytest.mark.django_db
PASTE = "/moving/paste/"


def _sent(page: str) -> dict[str, Any]:
    """What a browser would send back from the page without touching it."""
    found: dict[str, Any] = {}
    for tag in re.findall(r"<input [^>]*>", page):
        name = re.search(r'name="([^"]+)"', tag)
        value = re.search(r'value="([^"]*)"', tag, re.DOTALL)
        ticked = "checked" in tag or ("checkbox" not in tag and "radio" not in tag)
        if name and ticked and name[1] not in ("csrfmiddlewaretoken", "numbers"):
            found[name[1]] = html.unescape(value[1]).replace("\r\n", "\n").replace("\n", "\r\n") if value else ""
    for name, body in re.findall(r'<select [^>]*name="([^"]+)">(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', body)
        found[name] = chosen[1] if chosen else ""
    return found


def test_from_a_clipboard_to_things(as_keeper: Any, keeper: Any) -> None:
    from archive.boxes.actions import add_box

    box = add_box(keeper, {"title": "Shoe box"})
    text = (
        "Title\tKind\tMade\tSize (cm)\tPeople\tMade by\tBox\tNotes\tOld shelf\tWritten on it\n"
        '"Letter\nfrom Elsbeth"\tLetter\tabout 1910\t16 × 20,5\tElsbeth Aldermoor; Tobias Aldermoor\t\tshoe box\t'
        '"First line\nSecond line"\tA 3\t"Dear brother"\n'
        f"Tobias at the rope\tpostcard-or-stamp\t12 May 1910\t9x14\tTobias Aldermoor\tR. Hale\t{box.number}\t\tA 4\t\n"
        "\t\t\t\t\t\t\t\t\t\n"
        "Oar\t\t\t\t\t\t\t\t\t\n"
    )
    page = as_keeper.post(PASTE, {"text": text, "do": "read"}).content.decode()
    assert (
        "3 rows read, with a tab between cells" in page and not Thing.objects.exists() and not Person.objects.exists()
    )
    assert "3 new people will be recorded" in page and "R. Hale" in page and "Record 3 things" in page
    done = as_keeper.post(PASTE, {**_sent(page), "do": "save"}, follow=True).content.decode()
    first, second, third = Thing.objects.order_by("serial_id")
    assert (first.title, first.kind_code, first.made_edtf, first.width_mm, first.height_mm, first.box) == (
        "Letter from Elsbeth", "letter", "1910~", 160, 205, box,
    )  # fmt: skip
    assert first.note == "First line\nSecond line\nOld shelf: A 3" and second.note == "Old shelf: A 4"
    assert first.inscriptions.get().text == "Dear brother" and Inscription.objects.count() == 1
    assert {(row.person.name, row.role) for row in second.person_rows.all()} == {
        ("Tobias Aldermoor", "shown"),
        ("R. Hale", "made"),
    }
    assert third.kind_code == "unknown" and Person.objects.count() == 3 and "3 things recorded from your rows" in done
    assert first.history.get().change_set.verb == "moving.paste"
    found = as_keeper.get("/search/", {"q": "elsbeth"})
    assert found.status_code != 200 or "Letter from Elsbeth" in found.content.decode()
    change = ChangeSet.objects.get(verb="moving.paste")
    as_keeper.post(reverse("access:undo", args=[change.public_id]))
    assert not Thing.objects.exists() and not Person.objects.exists() and not ThingPerson.objects.exists()
    assert IssuedNumber.objects.count() == 4  # numbers once given out stay given out


def test_three_thousand_rows_with_ten_bad_cells(as_keeper: Any, keeper: Any) -> None:
    from archive.people.actions import add_person
    from archive.preferences.queries import preferences

    for _ in range(2):
        add_person(keeper, {"name": "Anna Aldermoor"}, preferences())
    text = three_thousand()
    began = time.monotonic()
    answer = as_keeper.post(PASTE, {"text": text, "do": "read"})
    looked = time.monotonic() - began
    page = answer.content.decode()
    assert "10 cells in 10 rows cannot be understood" in page and not Thing.objects.exists()
    named = {(int(line), int(column)) for line, column in re.findall(r'id="mend-(\d+)-(\d+)"', page)}
    assert named == set(BAD_CELLS)
    for (line, column), (typed, why) in BAD_CELLS.items():
        place = page.index(f'for="mend-{line}-{column}"')
        there = page[place : place + 900]
        assert f"Row {line}" in there and why in html.unescape(there) and (typed in html.unescape(there) or not typed)
    # Confirmed with bad cells in it, nothing is saved, and everything is there still.
    refused = as_keeper.post(PASTE, {**_sent(page), "do": "save"})
    assert refused.status_code == 422 and not Thing.objects.exists() and "10 cells are bad" in refused.content.decode()
    sent = _sent(refused.content.decode())
    mend = {"mend-2-0": "A title at last", "mend-100-1": "Letter", "mend-1500-4": "12 cm"}
    page = as_keeper.post(PASTE, {**sent, **mend, "do": "again"}).content.decode()
    assert "7 cells in 7 rows" in page
    began = time.monotonic()
    done = as_keeper.post(PASTE, {**_sent(page), "leave_out": "1", "do": "save"}, follow=True)
    saved = time.monotonic() - began
    assert Thing.objects.count() == 3_000 - 7 and Thing.objects.filter(title="A title at last").exists()
    assert "7 of your rows" in done.content.decode()
    assert Thing.history.values("change_set").distinct().count() == 1
    serials = list(Thing.objects.order_by("pk").values_list("serial_id", flat=True))
    assert serials == sorted(serials) and len(set(serials)) == len(serials)
    change = ChangeSet.objects.get(verb="moving.paste")
    began = time.monotonic()
    as_keeper.post(reverse("access:undo", args=[change.public_id]))
    undone = time.monotonic() - began
    assert not Thing.objects.exists() and Person.objects.count() == 2
    assert looked < 10 and saved < 30 and undone < 30, (looked, saved, undone)
    print(f"look {looked:.2f} s, save {saved:.2f} s, undo {undone:.2f} s")


def test_the_same_wrong_word_is_mended_once(as_keeper: Any) -> None:
    rows = "".join(f"Print {n}\tFotograf\n" for n in range(40))
    page = as_keeper.post(PASTE, {"text": "Title\tKind\n" + rows}).content.decode()
    assert "40 cells in 40 rows" in page and len(re.findall(r'name="mend-', page)) == 1 and "and 30 more" in page
    page = as_keeper.post(
        PASTE, {**_sent(page), "mend-2-1": "colour print", "do": "save"}, follow=True
    ).content.decode()
    assert Thing.objects.filter(kind_code="colour-print").count() == 40


def test_rows_without_headings_and_another_meaning_for_a_column(as_keeper: Any) -> None:
    page = as_keeper.post(PASTE, {"text": "Letter of thanks;1910;Skerrow\nAlbum;1920;Skerrow\n"}).content.decode()
    sent = _sent(page)
    assert "headed" not in sent and [sent[f"col-{n}"] for n in range(3)] == ["title", "", ""]
    assert "semicolon" in page
    sent |= {"col-1": "made", "col-2": "made-where", "do": "save"}
    as_keeper.post(PASTE, sent)
    assert list(Thing.objects.order_by("pk").values_list("title", "made_edtf")) == [
        ("Letter of thanks", "1910"),
        ("Album", "1920"),
    ]
    assert Place.objects.get().thing_rows.filter(role="made").count() == 2
    twice = as_keeper.post(PASTE, {**sent, "col-1": "title"})
    assert twice.status_code == 422 and "Two columns are both “Title”" in twice.content.decode()
    none = as_keeper.post(PASTE, {**sent, "col-0": ""})
    assert none.status_code == 422 and "No column holds the title" in none.content.decode()
    assert Thing.objects.count() == 2


def test_the_order_of_day_and_month_is_asked_once(as_keeper: Any) -> None:
    page = as_keeper.post(PASTE, {"text": "Title\tDate\nA\t3/4/1951\nB\t25/12/1950\nC\tsummer 1954\n"}).content.decode()
    assert "Which comes first" in page and "3/4/1951" in page
    for order, day in (("day", "1951-04-03"), ("month", "1951-03-04")):
        as_keeper.post(PASTE, {**_sent(page), "day_order": order, "do": "save", "form_id": ""})
        thing = Thing.objects.filter(title="A").order_by("-pk").first()
        # The month is written out, so that the page of the thing does not ask again.
        assert thing.made_edtf == day and "1951" in thing.made_text and "/" not in thing.made_text
        assert "Do you mean" not in as_keeper.get(thing.get_absolute_url()).content.decode()
    assert Thing.objects.filter(title="B").first().made_edtf == "1950-12-25"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_files(as_keeper: Any, encoding: str) -> None:
    text = "Title;Note\r\nKüchentuch für Åse;„gut“ – 5 €\r\n"
    file = SimpleUploadedFile("rows.csv", text.encode(encoding))
    page = as_keeper.post(PASTE, {"file": file}).content.decode()
    as_keeper.post(PASTE, {**_sent(page), "do": "save"})
    assert Thing.objects.values_list("title", "note").get() == ("Küchentuch für Åse", "„gut“ – 5 €")


def test_what_is_no_table(as_keeper: Any, settings: Any) -> None:
    for body, words in (
        ({"text": " \n"}, "Nothing was pasted"),
        ({"file": SimpleUploadedFile("t.xlsx", b"PK\x03\x04" + b"\0" * 99)}, "spreadsheet file itself"),
        ({"text": "Title\n" + "x\n" * 5_001}, "up to 5,000"),
        ({"text": "Title" + "\tx" * 90}, "more than 80 cells"),
        ({"text": "Title\tKind\n"}, "no row besides the headings"),
    ):
        answer = as_keeper.post(PASTE, body)
        assert answer.status_code == 422 and words in answer.content.decode(), words
    assert not Thing.objects.exists()


def test_leaving_needs_its_reasons_and_an_accepted_lot_stays_as_it_came(as_keeper: Any, keeper: Any) -> None:
    from archive.sorting.lot_actions import accept, add_lot

    lot = add_lot(keeper, {"title": "Aunt Ragna’s trunk"})
    accept(keeper, lot)
    text = "Title\tStanding\tReason\tLot\nA\tlet go\ttorn\t\nB\tlost\tflood\t\nC\tkept\t\tAunt Ragna’s trunk\n"
    page = as_keeper.post(PASTE, {"text": text}).content.decode()
    assert "who agreed" in page and "2 cells in 2 rows" in page and "accepted" in page
    as_keeper.post(PASTE, {**_sent(page), "leave_out": "1", "do": "save"})
    assert Thing.objects.get().standing == "lost"


def test_signs_of_every_kind_and_titles_that_are_there(as_keeper: Any, make_thing: Any) -> None:
    make_thing("مرحبا 🎻 <b>")
    page = as_keeper.post(
        PASTE, {"text": "Title\tPeople\nمرحبا 🎻 <b>\t" + "W" * 300 + '\n=1+1\t"; DROP\n'}
    ).content.decode()
    assert "<b>" not in page.replace("<bdi>", "") and "1 of the titles is in the archive already" in page
    as_keeper.post(PASTE, {**_sent(page), "do": "save"})
    assert set(Thing.objects.values_list("title", flat=True)) == {"مرحبا 🎻 <b>", "=1+1"} and Thing.objects.count() == 3
