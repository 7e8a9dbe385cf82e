"""Moving by typed numbers and by photographs of labels, from the form to the undo."""

from __future__ import annotations

import io
import re
from html import unescape
from typing import Any

import pytest
import segno
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from archive.boxes import queries
from archive.boxes.actions import add_box
from archive.boxes.codes import number_in, split_numbers
from archive.numbers import number_of

pytestmark = pytest.mark.django_db
MOVE = "/boxes/move/"


@pytest.fixture
def make_box(keeper: Any) -> Any:
    def make(title: str, level: str = "box", inside: Any = None, **values: Any) -> Any:
        return add_box(keeper, {"title": title, "level": level, "inside": inside, **values})

    return make


def _form_id(page: str) -> str:
    return unescape(re.findall(r'name="form_id" value="([^"]+)"', page)[0])


def _photograph(
    images: list[Any], *, angle: float = 11, blur: float = 1.2, size: tuple[int, int] = (1600, 1200)
) -> bytes:
    """A phone's picture of labels on a wooden table: turned, out of focus, unevenly lit, with grain."""
    import random

    from PIL import Image, ImageDraw, ImageFilter

    table = Image.new("RGB", size, (150, 120, 90))
    draw = ImageDraw.Draw(table)
    for y in range(0, size[1], 24):
        draw.line([(0, y), (size[0], y + 9)], fill=(140 - y % 48, 110, 80), width=7)
    for place, image in enumerate(images):
        turned = image.convert("RGB").rotate(angle * (1 if place % 2 else -1), expand=True, fillcolor=(150, 120, 90))
        table.paste(turned, (60 + (place % 3) * (size[0] // 3), 80 + (place // 3) * (size[1] // 2)))
    light = Image.linear_gradient("L").resize(size).point(lambda value: 255 - value // 3)
    table = Image.composite(table, Image.new("RGB", size, "black"), light).filter(ImageFilter.GaussianBlur(blur))
    noise = random.Random(7)
    pixels = table.load()
    for _ in range(20_000):
        x, y = noise.randrange(size[0]), noise.randrange(size[1])
        pixels[x, y] = tuple(min(255, max(0, part + noise.randrange(-25, 25))) for part in pixels[x, y])
    file = io.BytesIO()
    table.save(file, format="JPEG", quality=72)
    return file.getvalue()


def _code(text: str, scale: int = 9) -> Any:
    """A QR code drawn by another library than the one that reads it (and than the one that draws our labels)."""
    from PIL import Image

    file = io.BytesIO()
    segno.make(text, error="m").save(file, kind="png", scale=scale, border=4)
    return Image.open(io.BytesIO(file.getvalue()))


def _upload(name: str, data: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, content_type="image/jpeg")


def test_photographed_labels_are_listed_then_moved_then_undone(
    as_keeper: Any, keeper: Any, make_box: Any, make_thing: Any
) -> None:
    goal = make_box("Shelf 3", "shelf")
    letter, album, small = make_thing("A letter"), make_thing("An album"), make_box("Small box")
    first = _photograph([_code(f"http://192.168.1.20:8350/t/{letter.number}/"), _code(album.number)])
    second = _photograph([_code(f"http://kist.local/t/{small.number}/")], angle=170, blur=1.6)
    into = _photograph([_code(f"http://192.168.1.20:8350/t/{goal.number}/")], angle=95)
    page = as_keeper.get(MOVE).content.decode()
    assert 'capture="environment"' in page
    answer = as_keeper.post(
        MOVE,
        {
            "form_id": _form_id(page),
            "labels": [_upload("a.jpg", first), _upload("b.jpg", second)],
            "into_label": _upload("c.jpg", into),
        },
    )
    page = answer.content.decode()
    assert answer.status_code == 200 and "These will be moved" in page
    assert all(each.title in page for each in (letter, album, small, goal))
    letter.refresh_from_db()
    assert letter.box_id is None, "nothing moves before it is confirmed"
    numbers = unescape(re.search(r"<textarea[^>]*>\s*(.*?)</textarea>", page, re.DOTALL).group(1))
    assert sorted(numbers.split()) == sorted([letter.number, album.number, small.number])
    answer = as_keeper.post(
        MOVE, {"form_id": _form_id(page), "numbers": numbers, "into": "", "into_list": goal.number}, follow=True
    )
    assert "3 moved" in answer.content.decode()
    for each in (letter, album, small):
        each.refresh_from_db()
    assert letter.box == album.box == small.inside == goal
    undo_address = re.search(r'action="([^"]*undo[^"]*)"', answer.content.decode()).group(1)
    as_keeper.post(undo_address, {"form_id": _form_id(answer.content.decode()), "next": "/boxes/"})
    for each in (letter, album, small):
        each.refresh_from_db()
    assert letter.box is None and album.box is None and small.inside is None


def test_our_own_printed_label_is_read_from_a_photograph(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    """The sheet as PDF, drawn by pdfium at 150 dpi, photographed slantwise."""
    import pypdfium2

    from archive.labels.layouts import layout, usual_layout
    from archive.labels.sheet import Label, draw_sheet

    thing = make_thing("Letter from the ferry house")
    label = Label(number=thing.number, title=thing.title, qr_text=f"http://192.168.1.20:8350/t/{thing.number}/")
    sheet = draw_sheet([label], layout(usual_layout("a4")), start=1, nudge_mm=(0, 0), outline=False, ruler=False)
    paper = pypdfium2.PdfDocument(sheet.pdf)[0].render(scale=150 / 72).to_pil()
    corner = paper.crop((0, 0, paper.width // 2, paper.height // 4)).resize((paper.width, paper.height // 2))
    photo = _photograph([corner], angle=7, blur=1.0, size=(1900, 1500))
    page = as_keeper.get(MOVE).content.decode()
    answer = as_keeper.post(MOVE, {"form_id": _form_id(page), "labels": [_upload("label.jpg", photo)]})
    assert f"<strong>{thing.number}</strong> <bdi>{thing.title}" in answer.content.decode()


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("dark.jpg", lambda: _photograph([]), "Go nearer"),
        ("shop.jpg", lambda: _photograph([_code("https://shop.example/item/4006381333931")]), "not one of our labels"),
        ("wrong-check.jpg", lambda: _photograph([_code("http://a/t/0214-7/")]), "not one of our labels"),
        ("film.mp4", lambda: b"\0\0\0\x18ftypmp42" + b"\0" * 64, "movie"),
        ("nothing.jpg", lambda: b"", "empty"),
        ("cut.jpg", lambda: _photograph([])[:9000], "broken"),
    ],
)
def test_a_picture_that_says_nothing_gets_a_sentence(as_keeper: Any, name: str, data: Any, words: str) -> None:
    page = as_keeper.get(MOVE).content.decode()
    upload = SimpleUploadedFile(name, data() or b"")
    # Django drops an empty upload's bytes but keeps the file; the browser does the same.
    answer = as_keeper.post(MOVE, {"form_id": _form_id(page), "labels": [upload], "numbers": "0001-9"})
    text = answer.content.decode()
    assert answer.status_code == 422 and words in text and name in text
    assert "0001-9" in text, "what was typed stays"


def test_bad_numbers_are_named_and_nothing_moves_until_the_keeper_says_so(
    as_keeper: Any, keeper: Any, make_box: Any, make_thing: Any
) -> None:
    goal = make_box("Bureau", "furniture")
    good = [make_thing(f"T{n}") for n in range(3)]
    spoilt = good[1].number[:-1] + ("1" if good[1].number[-1] != "1" else "2")
    typed = f"{good[0].number}/12, {spoilt}\n{good[2].number.replace('-', '')} 9999-0 rubbish <b>"
    page = as_keeper.get(MOVE).content.decode()
    answer = as_keeper.post(MOVE, {"form_id": _form_id(page), "numbers": typed, "into": goal.number})
    text = answer.content.decode()
    assert answer.status_code == 422 and "nothing is moved yet" in text
    near = re.search(rf"{spoilt}</bdi>: its last sign does not fit\. Near it (?:is|are) ([^<]*)\.", text)
    assert near and good[1].number in near.group(1)
    assert "rubbish</bdi>: it is not a number of ours" in text and "&lt;b&gt;" in text
    assert not queries.things_in(goal, keeper).exists()
    sent = {"form_id": _form_id(text), "numbers": typed, "into": goal.number, "go_on": "1"}
    assert as_keeper.post(MOVE, sent).status_code == 302
    assert list(queries.things_in(goal, keeper)) == [good[0], good[2]]
    again = as_keeper.post(MOVE, sent, follow=True).content.decode()
    assert "nothing was done twice" in again.casefold()


def test_a_box_into_itself_is_refused_on_the_page_and_all_stays(as_keeper: Any, make_box: Any, make_thing: Any) -> None:
    outer = make_box("Outer")
    inner = make_box("Inner", inside=outer)
    thing = make_thing("A letter")
    page = as_keeper.get(f"{MOVE}?boxes={outer.public_id}&things={thing.public_id}&into={inner.public_id}")
    text = page.content.decode()
    assert outer.number in text and thing.number in text
    numbers = f"{thing.number}\n{outer.number}"
    answer = as_keeper.post(MOVE, {"form_id": _form_id(text), "numbers": numbers, "into_list": inner.number})
    assert answer.status_code == 422
    loop = f"would stand in {inner.number} Inner, which stands in {outer.number} Outer"
    assert loop in unescape(answer.content.decode())
    thing.refresh_from_db()
    assert thing.box is None, "the good one waits too: it is one act"


def test_taking_out_and_the_name_as_goal(as_keeper: Any, make_box: Any, make_thing: Any) -> None:
    attic, cellar = make_box("Attic", "room"), make_box("Cellar", "room")
    one, other = make_box("Box", inside=attic), make_box("Box", inside=cellar)
    thing = make_thing("A letter", box=one)
    page = as_keeper.get(MOVE).content.decode()
    both = as_keeper.post(MOVE, {"form_id": _form_id(page), "numbers": thing.number, "into": "box"}).content.decode()
    assert f"{one.number} in Attic" in both and f"{other.number} in Cellar" in both
    sent = {"form_id": _form_id(both), "numbers": thing.number, "take_out": "on"}
    assert as_keeper.post(MOVE, {**sent, "into": "Cellar"}).status_code == 422
    assert as_keeper.post(MOVE, sent).status_code == 302
    thing.refresh_from_db()
    assert thing.box is None
    seen = as_keeper.get(thing.get_absolute_url()).content.decode()
    assert "In no box yet" in seen and "Before, until" in seen and "Box" in seen
    assert as_keeper.get(reverse("tag", args=[one.number])).url == one.get_absolute_url()


def test_numbers_as_people_type_them() -> None:
    a, b = number_of(214), number_of(305)
    assert a == "0214-6"
    assert split_numbers(f"{a}\n{b}") == [a, b]
    assert split_numbers(f"{a}, {b};{a}\t{b}") == [a, b]
    assert split_numbers(f"{a} {b}") == [a, b]
    assert split_numbers("0214 6") == ["0214-6"] and split_numbers("0214‑6") == ["0214-6"]
    assert split_numbers(f"{a}/12 {b} / 3") == [a, b]
    assert split_numbers(f"http://192.168.1.7:8350/t/{a}/") == [a]
    assert split_numbers("  \n ,, ") == []
    assert number_in("http://x/t/0214-7/") is None and number_in("https://x/y/0214-6") is None


def test_recording_and_changing_a_box_in_inches(as_keeper: Any, keeper: Any, make_box: Any) -> None:
    from archive.boxes.models import Box
    from archive.preferences.actions import begin_with

    begin_with({"units": "inch"})
    room = make_box("Hall", "room")
    page = as_keeper.get(f"{reverse('boxes:add')}?inside={room.public_id}").content.decode()
    name = "🎻 صندوق " + "long " * 50
    sent = {
        "form_id": _form_id(page), "title": name, "level": "furniture", "inside_list": room.number,
        "inner_width_mm": "12.5", "inner_height_mm": "900", "made_of": "oak",
    }  # fmt: skip
    wrong = as_keeper.post(reverse("boxes:add"), sent)
    assert wrong.status_code == 422 and "too large" in wrong.content.decode() and "🎻" in wrong.content.decode()
    sent |= {"form_id": _form_id(wrong.content.decode()), "inner_height_mm": "9"}
    assert as_keeper.post(reverse("boxes:add"), sent).status_code == 302
    box = Box.objects.get(level="furniture")
    assert box.inside == room and box.inner_width_mm == pytest.approx(12.5 * 25.4) and box.title == name.strip()
    assert "12.5 × 9 in" in as_keeper.get(box.get_absolute_url()).content.decode()
    Box.objects.filter(pk=box.pk).update(inner_width_mm=333.3)
    address = reverse("boxes:edit", args=[box.public_id])
    page = as_keeper.get(address).content.decode()
    shown = re.search(r'name="inner_width_mm" value="([^"]+)"', page).group(1)
    sent = {
        "form_id": _form_id(page), "opened_version": "1", "title": "Bureau", "level": "furniture",
        "inside_list": room.number, "inner_width_mm": shown, "inner_height_mm": "9", "position": "1",
    }  # fmt: skip
    assert as_keeper.post(address, sent).status_code == 302
    box.refresh_from_db()
    assert (box.title, box.inner_width_mm) == ("Bureau", 333.3), "a rounded size sent back is no change"


def test_many_shelves_are_one_act(as_keeper: Any, keeper: Any, make_box: Any) -> None:
    from archive.access.models import ChangeSet
    from archive.access.undo import undo
    from archive.boxes.models import Box

    bureau = make_box("Bureau", "furniture")
    page = as_keeper.get(f"{reverse('boxes:add_many')}?inside={bureau.public_id}").content.decode()
    sent = {
        "form_id": _form_id(page), "level": "shelf", "stem": "Shelf", "first": "1", "how_many": "12",
        "inside": f"{bureau.number} Bureau", "inner_width_mm": "600",
    }  # fmt: skip
    assert as_keeper.post(reverse("boxes:add_many"), sent).url == bureau.get_absolute_url()
    assert [s.title for s in bureau.holds.all()] == [f"Shelf {n}" for n in range(1, 13)]
    undo(ChangeSet.objects.filter(verb="boxes.add").latest("pk"), keeper)
    assert Box.objects.count() == 1


def test_two_keepers_change_one_box(as_keeper: Any, keeper: Any, make_box: Any) -> None:
    from archive.boxes.actions import edit_box

    attic, cellar = make_box("Attic", "room"), make_box("Cellar", "room")
    box = make_box("Trunk", inside=attic)
    address = reverse("boxes:edit", args=[box.public_id])
    page = as_keeper.get(address).content.decode()
    edit_box(keeper, box, {"inside": cellar, "made_of": "tin"})
    sent = {
        "form_id": _form_id(page), "opened_version": "1", "title": "Sea trunk", "level": "box",
        "inside_list": attic.number, "position": "1",
    }  # fmt: skip
    answer = as_keeper.post(address, sent, follow=True)
    box.refresh_from_db()
    assert (box.title, box.inside, box.made_of) == ("Sea trunk", cellar, "tin")
    assert "Both are kept" in answer.content.decode()
    page = as_keeper.get(address).content.decode()
    edit_box(keeper, box, {"title": "Trunk of the sea"})
    sent |= {"form_id": _form_id(page), "opened_version": "3", "title": "Seaman’s trunk", "inside_list": cellar.number}
    clash = as_keeper.post(address, {**sent, "made_of": "tin"})
    assert clash.status_code == 409 and "Trunk of the sea" in clash.content.decode()


def test_the_page_of_what_was_moved_asks_as_often_for_many_as_for_few(
    as_keeper: Any, keeper: Any, make_box: Any, make_thing: Any
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from archive.boxes.actions import move

    things = [make_thing(f"Letter {n}") for n in range(9)]

    def asked(some: list[Any]) -> int:
        change = move(keeper, some, [], make_box("A tin"))
        with CaptureQueriesContext(connection) as context:
            page = as_keeper.get(reverse("boxes:moved", args=[change.public_id]))
        assert len(page.context["rows"]) == len(some)
        return len(context)

    assert asked(things[:2]) == asked(things[2:])
