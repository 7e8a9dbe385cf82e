"""Choosing labels: by numbers, boxes and lots; nothing private on them; a sheet of one's own; what was printed."""

from __future__ import annotations

import io
from datetime import date
from typing import Any

import pypdf
import pypdfium2
import pytest
import zxingcpp
from django.urls import reverse

pytestmark = pytest.mark.django_db


def codes(pdf: bytes) -> list[str]:
    """What zxing-cpp reads from the first page at 300 dpi."""
    page = pypdfium2.PdfDocument(io.BytesIO(pdf))[0].render(scale=300 / 72, grayscale=True).to_pil()
    return sorted(each.text for each in zxingcpp.read_barcodes(page))


def words(pdf: bytes) -> str:
    return " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


@pytest.fixture
def shelf(keeper: Any, make_thing: Any) -> dict[str, Any]:
    """A shelf with a box with two things, one of them the keeper's alone; and a lot with one of them."""
    from archive.access.changes import changing
    from archive.boxes.models import Box
    from archive.sorting.models import Lot
    from archive.things.actions import issue_number

    made: dict[str, Any] = {"open": make_thing("Open letter"), "closed": make_thing("Zinnober", access="keeper")}
    with changing(keeper, "test"):
        made["shelf"] = Box(serial=issue_number("boxes"), level="shelf", title="Upper shelf")
        made["shelf"].save()
        made["box"] = Box(serial=issue_number("boxes"), level="box", title="Hat box", inside=made["shelf"])
        made["box"].save()
        made["lot"] = Lot(serial=issue_number("lots"), title="From the mill")
        made["lot"].save()
        for name in ("open", "closed"):
            made[name].box = made["box"]
            made[name].save()
        made["open"].lot = made["lot"]
        made["open"].save()
    return made


def test_a_shelf_gives_labels_for_itself_its_boxes_and_their_things(as_keeper: Any, shelf: dict[str, Any]) -> None:
    page = as_keeper.get(reverse("labels:make"), {"box": shelf["shelf"].public_id}).content.decode()
    for name in ("shelf", "box", "open", "closed"):
        assert f'value="{shelf[name].serial_id}" checked' in page, name
    lot = as_keeper.get(reverse("labels:make"), {"lot": shelf["lot"].public_id}).content.decode()
    assert f'value="{shelf["lot"].serial_id}" checked' in lot and f'value="{shelf["open"].serial_id}" checked' in lot
    assert f'value="{shelf["closed"].serial_id}" checked' not in lot


def test_a_private_title_is_not_printed(as_keeper: Any, keeper: Any, shelf: dict[str, Any]) -> None:
    from archive.access.changes import changing

    later = shelf["open"]
    with changing(keeper, "test"):
        later.closed_until = date(2999, 1, 1)
        later.save()
    body = {"layout": "a4-3x7", "content": "number", "pick": [shelf[n].serial_id for n in ("closed", "open", "box")]}
    pdf = as_keeper.post(reverse("labels:make"), body).content
    assert codes(pdf) == sorted(shelf[n].number for n in ("closed", "open", "box"))
    said = words(pdf)
    assert "Zinnober" not in said and "Open letter" not in said and "Hat box" in said


def test_numbers_are_typed_as_words_and_ranges(as_keeper: Any, make_thing: Any) -> None:
    from archive.labels.models import PrintedSheet

    things = [make_thing(f"Thing {n}") for n in range(5)]
    first, last = things[1], things[3]
    body = {"layout": "a4-3x7", "content": "number", "numbers": f"{first.number} to {last.number}\n{things[0].number}"}
    pdf = as_keeper.post(reverse("labels:make"), body).content
    assert codes(pdf) == sorted(each.number for each in things[:4])
    assert PrintedSheet.objects.get().labels.count() == 4
    assert things[0].number in as_keeper.get(reverse("labels:printed")).content.decode()
    wrong = as_keeper.post(reverse("labels:make"), {**body, "numbers": f"{first.number[:-1]}9 {last.number}\n0009-1"})
    said = wrong.content.decode()
    assert wrong.status_code == 422 and f"“{first.number[:-1]}9” is not one of our numbers" in said
    assert last.number in said and PrintedSheet.objects.count() == 1


def test_a_sheet_of_ones_own(as_keeper: Any, make_thing: Any) -> None:
    """24 labels of 64 by 34 mm at margins 9 and 12.5: the second lies one step to the right (hand sum: 75 mm)."""
    from archive.preferences.queries import preferences

    things = [make_thing(f"Thing {n}") for n in range(2)]
    own = {
        "layout": "own", "own_page": "a4", "own_columns": "3", "own_rows": "8", "own_width": "64", "own_height": "34",
        "own_left": "9", "own_top": "12.5", "own_step_across": "66", "content": "number", "right_mm": "0.5",
        "pick": [each.serial_id for each in things],
    }  # fmt: skip
    pdf = as_keeper.post(reverse("labels:make"), own)
    assert pdf["Content-Type"] == "application/pdf"
    page = pypdfium2.PdfDocument(io.BytesIO(pdf.content))[0].render(scale=300 / 72, grayscale=True).to_pil()
    lefts = sorted(min(each.position.top_left.x, each.position.bottom_left.x) for each in zxingcpp.read_barcodes(page))
    assert (lefts[1] - lefts[0]) / 300 * 25.4 == pytest.approx(66, abs=0.3)
    known = preferences().label_sheet
    assert known["own"]["own_width"] == 64 and known["right_mm"] == 0.5
    again = as_keeper.get(reverse("labels:make")).content.decode()
    assert 'value="64.0"' in again and 'value="0.5"' in again
    for change, sentence in (
        ({"own_columns": "4"}, "page’s width"),
        ({"own_step_across": "60"}, "overlap"),
        ({"own_height": ""}, "Needed for a sheet of your own"),
        ({"start": "25"}, "24 labels"),
    ):
        bad = as_keeper.post(reverse("labels:make"), {**own, **change})
        assert bad.status_code == 422 and sentence in bad.content.decode(), change


def test_signs_that_cannot_be_printed_are_named_before(as_keeper: Any, make_thing: Any) -> None:
    plain, fiddle = make_thing("Γράμμα"), make_thing("Fiddle 🎻")
    assert "hollow box" not in as_keeper.get(reverse("labels:make"), {"thing": plain.public_id}).content.decode()
    said = as_keeper.get(reverse("labels:make"), {"thing": fiddle.public_id}).content.decode()
    assert "hollow box" in said and "🎻</bdi>" in said


def test_marking_is_told_for_every_kind(as_keeper: Any) -> None:
    from archive.kinds import kinds

    page = as_keeper.get(reverse("labels:marking")).content.decode()
    assert all(each.name.replace("’", "’") in page for each in kinds())
    assert page.count("<tr><th") == len(kinds()) + 12


def test_many_typed_numbers_ask_the_database_as_often_as_few(as_keeper: Any, make_thing: Any) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    things = [make_thing(f"Letter {n}") for n in range(12)]

    def asked(how_many: int) -> int:
        typed = "\n".join(thing.number for thing in things[:how_many])
        with CaptureQueriesContext(connection) as context:
            as_keeper.get(reverse("labels:make"), {"numbers": typed})
        return len(context)

    assert asked(2) == asked(6)  # others are offered below either way
