"""One thing, all the way: picture files in, a number, advice, a printed label that can be read back."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.conftest import jpeg

pytestmark = pytest.mark.django_db


def test_from_a_photograph_to_a_label(as_keeper: Any, settings: Any) -> None:
    import pypdfium2
    import zxingcpp

    from archive.things.models import Thing

    body = {
        "title": "Letter from the ferry house", "kind_code": "iron-gall-document", "made_text": "about 1910",
        "states": ["brittle"], "width_mm": "160", "height_mm": "205,5", "depth_mm": "0.2", "count": "4",
        "pictures": [SimpleUploadedFile("front.jpg", jpeg()), SimpleUploadedFile("back.jpg", jpeg(seed=2))],
    }  # fmt: skip
    answer = as_keeper.post(reverse("things:add"), body, follow=True)
    page = answer.content.decode()
    thing = Thing.objects.get()
    assert (thing.made_edtf, thing.height_mm, thing.pictures.count()) == ("1910~", 205.5, 2)
    assert thing.number in page and "understood as" not in page  # it was typed as it is understood
    assert "a folder of lignin-free paper or board" in page and "172 × 218 × 12 mm" in page
    assert "Why?" in page and "our default" in page
    pdf = as_keeper.post(reverse("labels:make"), {"layout": "a4-3x7", "thing": thing.public_id, "ruler": "on"})
    assert pdf["Content-Type"] == "application/pdf"
    image = pypdfium2.PdfDocument(io.BytesIO(pdf.content))[0].render(scale=300 / 72).to_pil()
    (code,) = zxingcpp.read_barcodes(image)
    assert code.text.endswith(reverse("tag", args=[thing.number]))
    assert as_keeper.get(code.text.removeprefix("http://testserver"))["Location"] == thing.get_absolute_url()


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("empty.jpg", b"", "empty"),
        ("movie.jpg", b"\0\0\0\x20ftypisom" + b"\0" * 200, "movie"),
        ("page.png", b"<html><script>alert(1)</script>", "web page"),
        ("drawing.jpg", b"<svg xmlns='x'><script/></svg>", "SVG"),
        ("cut.jpg", jpeg()[:2000], "cut off"),
    ],
)
def test_bad_files_are_named_and_the_good_ones_kept(as_keeper: Any, name: str, data: bytes, words: str) -> None:
    from archive.things.models import Thing

    files = [SimpleUploadedFile(name, data), SimpleUploadedFile("good.jpg", jpeg())]
    answer = as_keeper.post(reverse("things:add"), {"title": "T", "kind_code": "letter", "pictures": files})
    page = answer.content.decode()
    assert answer.status_code == 422 and name in page and words in page
    held = re.findall(r'name="held" value="([^"]+)"', page)
    assert len(held) == 1 and not Thing.objects.exists()
    again = {"title": "T", "kind_code": "letter", "held": held, "without_refused": "1"}
    assert as_keeper.post(reverse("things:add"), again).status_code == 302
    assert Thing.objects.get().pictures.get().original_name == "good.jpg"


def test_an_unreadable_date_is_kept_as_typed_and_asked_about(as_keeper: Any) -> None:
    from archive.things.models import Thing

    body = {"title": "T", "kind_code": "letter", "made_text": "when the pear tree fell"}
    page = as_keeper.post(reverse("things:add"), body, follow=True).content.decode()
    assert Thing.objects.get().made_text in page and "cannot read a date" in page
    body = {"title": "U", "kind_code": "letter", "made_text": "3/4/1951"}
    page = as_keeper.post(reverse("things:add"), body, follow=True).content.decode()
    assert "Do you mean 4 March 1951 or 3 April 1951?" in page


def test_a_wrong_number_gets_near_ones(as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing()
    assert as_keeper.get(reverse("things:list"), {"number": thing.number.replace("-", "")})["Location"]
    page = as_keeper.get(reverse("things:list"), {"number": "0002-7"}).content.decode()
    assert "0002-8" in page


def test_hazards_come_first_and_hold_back_ordinary_advice(as_keeper: Any, make_thing: Any) -> None:
    film = make_thing("Old film", kind_code="nitrate-film", states=["acrid-smell"])
    page = as_keeper.get(film.get_absolute_url()).content.decode()
    assert page.index("Stop. Leave it and call") < page.index("What it is")
    assert "Put it in" not in page
    listed = as_keeper.get(reverse("things:list")).content.decode()
    assert "Fire: nitrate" in listed


def test_any_text_is_shown_as_text(as_keeper: Any, make_thing: Any) -> None:
    title = "<script>alert('x')</script> ‮ مرحبا 🎻 " + "W" * 200
    thing = make_thing(title, note="<b>bold</b>")
    for address in (thing.get_absolute_url(), reverse("things:list"), reverse("labels:make")):
        page = as_keeper.get(address).content.decode()
        assert "<script>alert" not in page and "<b>bold" not in page


def test_pages_ask_the_database_a_constant_number_of_times(as_keeper: Any, make_thing: Any) -> None:
    from django.db import connection

    def count(address: str) -> int:
        as_keeper.get(address)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            as_keeper.get(address)
        return len(queries)

    thing = make_thing("first", pictures=1)
    addresses = (reverse("things:list"), reverse("home"), thing.get_absolute_url(), reverse("labels:make"))
    few, many = [], []
    for counts in (few, many):
        for n in range(12):  # some look alike from the first dozen on
            make_thing(f"thing {n}", pictures=n % 3)
        counts += [count(address) for address in addresses]
    assert many == few
    assert max(many[0], *many[2:]) <= 15
    assert many[1] <= 45  # every subject is asked once for its jobs


def test_pictures_are_ordered_captioned_taken_off_and_brought_back(as_keeper: Any, make_thing: Any) -> None:
    from archive.access.models import ChangeSet

    thing = make_thing(pictures=3)
    first = thing.pictures.first()
    as_keeper.post(reverse("pictures:edit", args=[first.public_id]), {"move": "back"})
    assert [p.pk for p in thing.pictures.all()].index(first.pk) == 1
    as_keeper.post(reverse("pictures:edit", args=[first.public_id]), {"view": "back", "caption": "The seal"})
    assert "The seal" in as_keeper.get(thing.get_absolute_url()).content.decode()
    as_keeper.post(reverse("pictures:remove", args=[first.public_id]))
    assert thing.pictures.count() == 2
    change = ChangeSet.objects.get(verb="pictures.remove")
    as_keeper.post(reverse("access:undo", args=[change.public_id]))
    assert thing.pictures.get(public_id=first.public_id).caption == "The seal"


def test_sizes_come_back_when_the_derived_folder_was_emptied(as_keeper: Any, make_thing: Any, home: Any) -> None:
    import shutil

    picture = make_thing(pictures=1).pictures.first()
    shutil.rmtree(home / "derived")
    answer = as_keeper.get(reverse("pictures:size", args=[picture.public_id, 640]))
    assert answer.status_code == 200 and answer["Content-Type"] == "image/jpeg"
    assert as_keeper.get(reverse("pictures:size", args=[picture.public_id, 641])).status_code == 404


def test_inches_are_kept_as_millimetres(as_keeper: Any) -> None:
    from archive.preferences.actions import begin_with
    from archive.things.models import Thing

    begin_with({"units": "inch"})
    body = {"title": "T", "kind_code": "letter", "width_mm": "2.5", "weight_g": "1"}
    page = as_keeper.post(reverse("things:add"), body, follow=True).content.decode()
    thing = Thing.objects.get()
    assert thing.width_mm == 63.5 and thing.weight_g == pytest.approx(28.3495, abs=1e-4) and "2.50 in" in page


def test_advice_is_in_the_keepers_units_and_names_its_sources(as_keeper: Any, make_thing: Any) -> None:
    from archive.preferences.actions import begin_with

    size = {"width_mm": 114.3, "height_mm": 165.1, "depth_mm": 0.5}
    thing = make_thing("Print", kind_code="colour-print", **size)
    begin_with({"units": "inch"})
    page = as_keeper.get(thing.get_absolute_url()).content.decode()
    assert "4.7 × 6.7 × 0.3 in" in page and "−4 to 36 °F" in page and "Not above 59 °F" in page and "°C" not in page
    assert "Why these figures?" in page and "Library of Congress" in page and "NE-5.5" not in page
    film = make_thing("Film", kind_code="nitrate-film")
    assert "Eastman Kodak" in as_keeper.get(film.get_absolute_url()).content.decode()


def test_the_same_sheet_of_labels_can_be_made_twice(as_keeper: Any, make_thing: Any) -> None:
    from archive.labels.models import PrintedSheet
    from archive.preferences.actions import begin_with

    thing = make_thing()
    begin_with({"paper": "letter"})
    page = as_keeper.get(reverse("labels:make"), {"thing": thing.public_id}).content.decode()
    assert '<option value="letter-3x10" selected>' in page
    form_id = page.split('name="form_id" value="')[1].split('"')[0]
    body = {"layout": "a4-3x7", "thing": thing.public_id, "form_id": form_id}
    for _ in range(2):
        assert as_keeper.post(reverse("labels:make"), body)["Content-Type"] == "application/pdf"
    assert PrintedSheet.objects.count() == 1


def test_a_thing_that_is_asked_for_is_offered_however_old(
    as_keeper: Any, make_thing: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("archive.labels.views.SHOWN_AT_ONCE", 2)
    old = make_thing("The oldest")
    for n in range(3):
        make_thing(f"Newer {n}")
    page = as_keeper.get(reverse("labels:make"), {"thing": old.public_id}).content.decode()
    assert f'value="{old.serial_id}" checked' in page and "Newer 0" not in page
