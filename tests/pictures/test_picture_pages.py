"""Pages of pictures: adding to every kind of record, what is said of one, its order, and the camera's date."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from archive.pictures.actions import attach, take_in
from archive.pictures.models import Picture
from tests.conftest import jpeg

pytestmark = pytest.mark.django_db


def _owners(keeper: Any, make_thing: Any) -> dict[str, Any]:
    from archive.access.changes import changing
    from archive.boxes.models import Box
    from archive.sorting.models import Lot
    from archive.stories.models import Story
    from archive.things.actions import issue_number

    with changing(keeper, "test"):
        box = Box(serial=issue_number("boxes"), title="A box")
        lot = Lot(serial=issue_number("lots"), title="A lot")
        story = Story(title="A story", body="Told.")
        for record in (box, lot, story):
            record.save()
    return {"things": make_thing("A thing"), "boxes": box, "stories": story, "lots": lot}


@pytest.mark.parametrize("code", ["things", "boxes", "stories", "lots"])
def test_pictures_are_added_to_every_kind_of_record(code: str, keeper: Any, make_thing: Any, as_keeper: Any) -> None:
    owner = _owners(keeper, make_thing)[code]
    address = reverse("pictures:add", args=[code, owner.public_id])
    assert "Add pictures to" in as_keeper.get(address).content.decode()
    files = [SimpleUploadedFile(f"{n}.jpg", jpeg((300 + 90 * n, 200), seed=n * 5)) for n in range(2)]
    answer = as_keeper.post(address, {"pictures": [*files, SimpleUploadedFile("x.jpg", b"no")], "view": "layer"})
    assert answer.status_code == 422 and "x.jpg" in answer.content.decode()  # the good ones are in
    assert [(each.view, each.position) for each in owner.pictures.all()] == [("layer", 0), ("layer", 1)]
    answer = as_keeper.post(address, {"pictures": [SimpleUploadedFile("d.jpg", jpeg((200, 400), seed=90))]})
    assert answer["Location"] == owner.get_absolute_url() and owner.pictures.count() == 3


def test_records_without_pictures_and_unknown_kinds_are_not_found(as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing()
    for code in ("groups", "people", "nothing"):
        assert as_keeper.get(reverse("pictures:add", args=[code, thing.public_id])).status_code == 404
    assert as_keeper.get(reverse("pictures:add", args=[thing.public_id])).status_code == 200


def test_caption_view_piece_and_order(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    from archive.access.changes import changing
    from archive.things.models import Piece

    thing, other = make_thing(pictures=3), make_thing("other")
    with changing(keeper, "test"):
        piece, foreign = Piece(thing=thing, order=2, title="second leaf"), Piece(thing=other, order=1)
        piece.save()
        foreign.save()
    last = thing.pictures.last()
    address = reverse("pictures:edit", args=[last.public_id])
    assert f"{thing.number}/2 second leaf" in as_keeper.get(address).content.decode()
    values = {"view": "detail", "caption": "The seal", "piece": piece.pk, "opened_version": last.version}
    assert as_keeper.post(address, values)["Location"] == thing.get_absolute_url()
    last.refresh_from_db()
    assert (last.view, last.caption, last.piece) == ("detail", "The seal", piece)
    assert as_keeper.post(address, {**values, "piece": foreign.pk}).status_code == 422
    as_keeper.post(address, {"move": "first"})
    assert thing.pictures.first() == last
    assert [each.position for each in thing.pictures.all()] == [0, 1, 2]


def test_two_keepers_at_one_picture_lose_nothing(as_keeper: Any, make_thing: Any) -> None:
    picture = make_thing(pictures=1).pictures.get()
    address = reverse("pictures:edit", args=[picture.public_id])
    opened = picture.version
    as_keeper.post(address, {"view": "back", "caption": "Hers", "opened_version": opened})
    answer = as_keeper.post(address, {"view": "front", "caption": "His", "opened_version": opened})
    assert answer.status_code == 409 and "Hers" in answer.content.decode() and "His" in answer.content.decode()
    picture.refresh_from_db()
    assert (picture.view, picture.caption) == ("back", "Hers")
    as_keeper.post(address, {"view": "back", "caption": "His", "opened_version": picture.version})
    picture.refresh_from_db()
    assert picture.caption == "His"


def _dated(make_thing: Any, when: str = "2019:05:03 14:22:33", **values: Any) -> Any:
    exif = Image.Exif()
    exif[0x8769] = {0x9003: when}
    thing = make_thing("Postcard", **values)
    taken, _ = take_in([SimpleUploadedFile("a.jpg", jpeg(exif=exif))])
    attach(None, thing, taken)
    return thing


def test_the_camera_s_date_is_only_a_suggestion(as_keeper: Any, as_relative: Any, make_thing: Any) -> None:
    thing = _dated(make_thing)
    picture = thing.pictures.get()
    assert thing.made_text == "" and picture.taken_text == "2019-05-03 14:22"
    words = (
        "The camera’s note says 3 May 2019 – this is when the picture was taken, perhaps not when the thing was made."
    )
    for address in (thing.get_absolute_url(), reverse("pictures:edit", args=[picture.public_id])):
        assert words in as_keeper.get(address).content.decode()
    assert words not in as_relative.get(thing.get_absolute_url()).content.decode()
    use = reverse("pictures:use_date", args=[picture.public_id])
    assert as_relative.post(use).status_code == 404
    as_keeper.post(use)
    thing.refresh_from_db()
    assert (thing.made_text, thing.made_edtf) == ("3 May 2019", "2019-05-03")
    assert words not in as_keeper.get(thing.get_absolute_url()).content.decode()


def test_a_date_that_was_typed_is_never_overwritten(as_keeper: Any, make_thing: Any) -> None:
    thing = _dated(make_thing, made_text="about 1930")
    as_keeper.post(reverse("pictures:use_date", args=[thing.pictures.get().public_id]))
    thing.refresh_from_db()
    assert thing.made_text == "about 1930"


@pytest.mark.parametrize("when", ["2019:02:31 10:00:00", "0000:00:00 00:00:00", "soon", "2019:13:01 10:00:00"])
def test_a_camera_that_notes_no_day_suggests_none(as_keeper: Any, make_thing: Any, when: str) -> None:
    thing = _dated(make_thing, when)
    assert "camera’s note" not in as_keeper.get(thing.get_absolute_url()).content.decode()
    assert as_keeper.post(reverse("pictures:use_date", args=[thing.pictures.get().public_id])).status_code == 404


@pytest.mark.parametrize("size", [(3000, 2000), (600, 2400), (200, 150), (900, 700)])
def test_srcset_tells_the_true_width_of_every_file(as_keeper: Any, make_thing: Any, size: tuple[int, int]) -> None:
    """The ``w`` of a candidate is the width of the file in pixels (HTML Living Standard, srcset)."""
    import io

    thing = make_thing()
    taken, _ = take_in([SimpleUploadedFile("a.jpg", jpeg(size))])
    (picture,) = attach(None, thing, taken)
    candidates = [each.split(" ") for each in picture.srcset.split(", ")]
    assert candidates
    for address, width in candidates:
        with Image.open(io.BytesIO(b"".join(as_keeper.get(address).streaming_content))) as image:
            assert f"{image.width}w" == width
    assert len({width for _, width in candidates}) == len(candidates)


def test_looking_closely_needs_no_javascript(as_visitor: Any, make_thing: Any) -> None:
    import io

    thing = make_thing("Open", access="all")
    taken, _ = take_in([SimpleUploadedFile("a.jpg", jpeg((4000, 3000)))])
    (picture,) = attach(None, thing, taken)
    page = as_visitor.get(reverse("pictures:zoom", args=[picture.public_id]) + "?size=large").content.decode()
    source, width, height = re.search(r'<img src="([^"]+)"[^>]* width="(\d+)" height="(\d+)"', page).groups()  # type: ignore[union-attr]
    with Image.open(io.BytesIO(b"".join(as_visitor.get(source).streaming_content))) as image:
        assert image.size == (int(width), int(height)) == (2560, 1920)
    assert reverse("pictures:file", args=[picture.public_id]) in page
    assert "Mark a person" not in page and "Change this picture" not in page


def test_a_picture_of_a_private_record_is_not_there(as_relative: Any, as_visitor: Any, make_thing: Any) -> None:
    picture = make_thing("secret", access="keeper", pictures=1).pictures.get()
    for client in (as_relative, as_visitor):
        for name, args in (("zoom", []), ("file", []), ("size", [2560]), ("size", [320])):
            assert client.get(reverse(f"pictures:{name}", args=[picture.public_id, *args])).status_code == 404


def test_pages_of_a_picture_ask_the_database_a_constant_number_of_times(
    as_keeper: Any, keeper: Any, make_thing: Any
) -> None:
    from archive.people.queries import NewName
    from archive.pictures.actions import mark_person

    def counts(picture: Picture) -> list[int]:
        found = []
        for name in ("zoom", "edit", "mark"):
            address = reverse(f"pictures:{name}", args=[picture.public_id])
            as_keeper.get(address)
            with CaptureQueriesContext(connection) as queries:
                as_keeper.get(address)
            found.append(len(queries))
        return found

    few, many = make_thing("few", pictures=3), make_thing("many", pictures=30)
    for thing, people in ((few, 3), (many, 30)):
        for n in range(people):
            mark_person(keeper, thing.pictures.first(), NewName(f"{thing.title} {n}"), {"sure": True})
    assert counts(few.pictures.first()) == counts(many.pictures.first())
    assert max(counts(many.pictures.first())) <= 15


def test_every_page_shows_pictures_through_the_one_include() -> None:
    """A list of sizes written by hand would tell browsers wrong widths."""
    from django.conf import settings

    for path in (settings.BASE_DIR / "templates").rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        if path.parent.name != "pictures":
            assert not re.search(r"<img[^>]*pictures:size", text), path
        assert "srcset" not in text or path.name == "_img.html", path
