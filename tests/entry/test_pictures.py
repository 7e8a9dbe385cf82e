"""Many at once by their pictures: the good ones in, the bad ones named, put together, named, one act, one undo."""

from __future__ import annotations

import re
import time
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from archive.access.models import ChangeSet
from archive.pictures.models import Picture
from archive.things.models import IssuedNumber, Thing
from tests.conftest import jpeg

pytestmark = pytest.mark.django_db
NAMES = "/entry/pictures/names/"


def _shot(name: str, seed: int, taken: str = "") -> SimpleUploadedFile:
    from PIL import Image

    exif = Image.Exif()
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    return SimpleUploadedFile(name, jpeg((160, 120), seed=seed, exif=exif.tobytes()))


def _fields(page: str) -> dict[str, Any]:
    """What the page would send back: hidden notes, ticks, and the names of its text fields."""
    return {
        "held": re.findall(r'name="held" value="([^"]+)"', page),
        "starts": re.findall(r'name="starts" value="([^"]+)" checked', page),
        "titles": re.findall(r'name="(title-[^"]+)"', page),
        "kinds": re.findall(r'name="(kind-[^"]+)"', page),
        "mades": re.findall(r'name="(made-[^"]+)"', page),
    }


def test_a_folder_with_a_movie_an_empty_file_and_good_pictures(as_keeper: Any) -> None:
    files = [
        _shot("b10.jpg", 1, "2026:11:02 19:05:10"), _shot("b2.jpg", 2, "2026:11:02 19:06:40"), _shot("c.jpg", 3),
        SimpleUploadedFile("clip.mp4", b"\0\0\0\x20ftypisom" + b"\0" * 99), SimpleUploadedFile("none.jpg", b""),
        _shot("z.jpg", 3),
    ]  # fmt: skip
    answer = as_keeper.post(NAMES, {"folder": files, "together": "gap", "gap": "2"})
    page = answer.content.decode()
    assert answer.status_code == 200 and not Thing.objects.exists()
    assert "clip.mp4" in page and "movie" in page and "none.jpg" in page and "0 bytes" in page
    assert "3 pictures are in, put together as 2 things" in page and "sent twice" in page
    assert "The camera noted 2 November 2026" in page
    sent = _fields(page)
    assert len(sent["held"]) == 3 and len(sent["titles"]) == 2
    # The camera's date is offered beside the field and never filled in.
    assert not re.search(r'name="made-[^"]+" value="[^"]', page)
    body = {"held": sent["held"], "starts": sent["starts"], "do": "save", "common_kind": "letter",
            sent["titles"][0]: "Front and back", sent["titles"][1]: "A scan", sent["kinds"][1]: "book"}  # fmt: skip
    done = as_keeper.post(NAMES, body, follow=True)
    first, second = Thing.objects.order_by("serial_id")
    assert (first.title, first.kind_code, first.pictures.count(), first.made_text) == (
        "Front and back",
        "letter",
        2,
        "",
    )
    assert [p.original_name for p in first.pictures.all()] == ["b10.jpg", "b2.jpg"]
    assert (second.title, second.kind_code, second.pictures.get().original_name) == ("A scan", "book", "c.jpg")
    assert f"{first.number} to {second.number}" in done.content.decode()


def test_put_together_anew_keeps_what_was_typed(as_keeper: Any) -> None:
    files = [_shot(f"p{n}.jpg", n + 1, f"2026:11:02 19:0{n}:00") for n in range(3)]
    sent = _fields(as_keeper.post(NAMES, {"pictures": files, "together": "each"}).content.decode())
    assert len(sent["titles"]) == 3
    typed = dict(zip(sent["titles"], ("One", "Two", "Three"), strict=True))
    body = {"held": sent["held"], "starts": sent["starts"], **typed}
    page = as_keeper.post(NAMES, {**body, "do": "all"}).content.decode()
    assert _fields(page)["titles"] == sent["titles"][:1] and 'value="One; Two; Three"' in page
    # Unticking “begins a thing” joins a picture to the one before; a new file joins the page.
    body = {**body, "starts": sent["starts"][:1], "do": "arrange", "pictures": [_shot("p9.jpg", 9)]}
    page = as_keeper.post(NAMES, body).content.decode()
    again = _fields(page)
    assert len(again["held"]) == 4 and [f'value="{word}"' in page for word in ("One", "Two; Three")] == [True, True]
    assert len(again["titles"]) == 3 and not Thing.objects.exists()
    page = as_keeper.post(NAMES, {**body, "pictures": [], "do": "gap", "gap": "0"}).content.decode()
    assert len(_fields(page)["titles"]) == 3


def test_what_is_not_named_is_asked_for_or_numbered(as_keeper: Any) -> None:
    files = [_shot(f"p{n}.jpg", n + 1, "2019:07:14 10:22:00") for n in range(3)]
    sent = _fields(as_keeper.post(NAMES, {"pictures": files}).content.decode())
    body = {"held": sent["held"], "starts": sent["starts"], "do": "save", sent["titles"][1]: "The ferry"}
    answer = as_keeper.post(NAMES, body)
    assert answer.status_code == 422 and answer.content.decode().count("It needs a title") >= 2
    assert 'value="The ferry"' in answer.content.decode() and not Thing.objects.exists()
    bad_kind = {**body, "common_title": "From the tin", sent["kinds"][0]: "Leter"}
    assert "Near it: Letter" in as_keeper.post(NAMES, bad_kind).content.decode()
    as_keeper.post(NAMES, {**body, "common_title": "From the tin", "camera_date": "on"})
    assert list(Thing.objects.order_by("serial_id").values_list("title", "made_edtf")) == [
        ("From the tin (1)", "2019-07-14"), ("The ferry", "2019-07-14"), ("From the tin (2)", "2019-07-14"),
    ]  # fmt: skip


def test_nothing_but_bad_files_and_nothing_at_all(as_keeper: Any) -> None:
    answer = as_keeper.post(NAMES, {"pictures": [SimpleUploadedFile("none.jpg", b"")]})
    assert answer.status_code == 422 and "none.jpg" in answer.content.decode()
    assert "No file was chosen" in as_keeper.post(NAMES, {}).content.decode()
    assert as_keeper.get(NAMES).status_code == 302


def test_an_old_or_foreign_note_of_a_file_is_told(as_keeper: Any) -> None:
    sent = _fields(as_keeper.post(NAMES, {"pictures": [_shot("a.jpg", 1)]}).content.decode())
    page = as_keeper.post(NAMES, {"held": [*sent["held"], "forged"], "do": "arrange"}).content.decode()
    assert "could not be found any more" in page and "1 picture is in" in page


def test_a_file_that_is_in_the_archive_already_is_told(as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing("Old letter", pictures=1)
    same = SimpleUploadedFile("copy.jpg", jpeg(seed=len("Old letter")))
    page = as_keeper.post(NAMES, {"pictures": [same]}).content.decode()
    assert f"The same file is already with <bdi>{thing.number} Old letter" in page


def test_eighty_photographs_are_one_act_and_one_undo(as_keeper: Any) -> None:
    taken = [f"2026:11:02 {19 + n // 60}:{n % 60:02d}:00" for n in range(80)]
    files = [_shot(f"IMG_{n}.jpg", n + 1, taken[n]) for n in range(80)]
    page = as_keeper.post(NAMES, {"pictures": files, "together": "each"}).content.decode()
    sent = _fields(page)
    body: dict[str, Any] = {"held": sent["held"], "starts": sent["starts"], "do": "save", "common_kind": "letter"}
    body |= {name: f"Photograph {n}" for n, name in enumerate(sent["titles"])}
    began = time.monotonic()
    answer = as_keeper.post(NAMES, body)
    assert answer.status_code == 302 and time.monotonic() - began < 10
    assert Thing.objects.count() == Picture.objects.count() == 80
    assert ChangeSet.objects.filter(verb="entry.pictures").count() == 1
    assert [t.title for t in Thing.objects.order_by("serial_id")] == [f"Photograph {n}" for n in range(80)]
    for thing in Thing.objects.all()[:5]:
        assert thing.history.get().change_set.verb == "entry.pictures"
    change = ChangeSet.objects.get(verb="entry.pictures")
    as_keeper.post(reverse("access:undo", args=[change.public_id]))
    assert not Thing.objects.exists() and not Picture.objects.exists() and IssuedNumber.objects.count() == 80
    inverse = ChangeSet.objects.get(verb="access.undo")
    as_keeper.post(reverse("access:undo", args=[inverse.public_id]))
    assert Thing.objects.count() == Picture.objects.count() == 80


def test_four_hundred_pictures_fit_into_the_page(as_keeper: Any, settings: Any) -> None:
    from archive.pictures.actions import TakenIn, take_in

    taken, _ = take_in([_shot("a.jpg", 1)])
    copies = [
        TakenIn(**{**taken[0].__dict__, "name": f"{'long name ' * 8}{n}.jpg", "taken": "2026-11-02 19:00"})
        for n in range(400)
    ]
    tickets = [each.ticket() for each in copies]
    size = sum(len(ticket) for ticket in tickets) + 400 * (300 * 2 + 600)
    assert size < settings.DATA_UPLOAD_MAX_MEMORY_SIZE and settings.DATA_UPLOAD_MAX_NUMBER_FIELDS > 400 * 5
    # They are one file, so the page keeps one; that all 400 notes are read is what counts here.
    page = as_keeper.post(NAMES, {"held": tickets, "do": "arrange"}).content.decode()
    assert "1 picture is in" in page and "399 files were sent twice" in page
