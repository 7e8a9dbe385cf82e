"""Pictures that look alike: how far fingerprints lie apart, how fast they are found, and what the keeper is asked."""

from __future__ import annotations

import io
import itertools
import random
import time
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageEnhance, ImageFilter

from archive.demo.drawings import PICTURES, draw
from archive.pictures import alike
from archive.pictures.actions import attach, take_in
from archive.pictures.limits import limit
from archive.pictures.models import Likeness, Picture
from archive.pictures.thumbnails import differing_bits, fingerprint, make_sizes


def cropped(image: Image.Image, part: int) -> Image.Image:
    x, y = image.width // part, image.height // part
    return image.crop((x, y, image.width - x, image.height - y))


# What happens to a picture between two copies, and how many of 18 drawings must still be known by the limit.
# (The drawings have a grain of chance, so that counts wander by one or two.)
CHANGES: dict[str, tuple[Any, int, int]] = {
    "saved worse": (lambda i: i, 30, 17),
    "half the size": (lambda i: i.resize((i.width // 2, i.height // 2)), 88, 17),
    "a third, roughly": (lambda i: i.resize((i.width // 3, i.height // 3), Image.Resampling.NEAREST), 88, 16),
    "darker": (lambda i: ImageEnhance.Brightness(i).enhance(0.75), 88, 16),
    "brighter": (lambda i: ImageEnhance.Brightness(i).enhance(1.25), 88, 14),
    "more contrast": (lambda i: ImageEnhance.Contrast(i).enhance(1.3), 88, 16),
    "grey": (lambda i: i.convert("L"), 88, 17),
    "blurred": (lambda i: i.filter(ImageFilter.GaussianBlur(2)), 88, 17),
    "cropped by a fiftieth": (lambda i: cropped(i, 50), 88, 14),
}
NAMES = (
    "portrait", "family", "letter", "cyanotype", "negative", "certificate", "watercolour", "postcard", "map", "medal",
    "quilt", "book", "lace", "teapot", "reel", "doll", "spoons", "box",
)  # fmt: skip


def print_of(image: Image.Image, folder: Path, quality: int = 88) -> int:
    path = folder / f"{len(list(folder.iterdir()))}.jpg"
    image.convert("RGB").save(path, quality=quality)
    return fingerprint(make_sizes(path, path.with_suffix(""))[320])


def test_copies_lie_near_and_different_drawings_far(tmp_path: Path) -> None:
    """The measurement from which the limit was chosen; it is printed with ``pytest -s``."""
    assert set(NAMES) <= set(PICTURES)
    drawings = {name: draw(name, 3, (1000, 750)) for name in NAMES}
    prints = {name: print_of(image, tmp_path) for name, image in drawings.items()}
    for words, (change, quality, at_least) in CHANGES.items():
        away = sorted(
            differing_bits(prints[name], print_of(change(image), tmp_path, quality)) for name, image in drawings.items()
        )
        print(f"{words}: {away}")
        assert sum(bits <= limit("alike_bits") for bits in away) >= at_least, words
    apart = sorted(differing_bits(prints[a], prints[b]) for a, b in itertools.combinations(NAMES, 2))
    print(f"different drawings: nearest {apart[:10]}, middle {apart[len(apart) // 2]}")
    assert apart[0] > limit("alike_bits") and apart[len(apart) // 2] >= 24


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.integers(0, 2**64 - 1), min_size=1, max_size=40),
    st.integers(0, 2**64 - 1),
    st.integers(0, 64),
)
def test_the_scan_finds_what_counting_bits_one_by_one_finds(prints: list[int], wanted: int, bits: int) -> None:
    scan = alike._Prints()
    scan.keys.extend(range(len(prints)))
    scan.prints.extend(prints)
    plain = [(n, bin(each ^ wanted).count("1")) for n, each in enumerate(prints)]
    assert scan.within(wanted, bits) == [(n, away) for n, away in plain if away <= bits]


def test_one_look_among_150_000_takes_less_than_a_tenth_of_a_second() -> None:
    chance = random.Random(1)
    scan = alike._Prints()
    scan.keys.extend(range(150_000))
    scan.prints.extend(chance.getrandbits(64) for _ in range(150_000))
    wanted = scan.prints[77_777]
    scan.prints[149_999] = wanted ^ 0b1011
    scan.within(wanted, 8)
    took = []
    for _ in range(7):
        began = time.perf_counter()
        found = scan.within(wanted, limit("alike_bits"))
        took.append((time.perf_counter() - began) * 1000)
    print(f"one look among 150,000: {sorted(took)[3]:.2f} ms")
    assert found == [(77_777, 0), (149_999, 3)] and sorted(took)[3] < 100


def _file(image: Image.Image, name: str = "a.jpg", quality: int = 88) -> SimpleUploadedFile:
    data = io.BytesIO()
    image.convert("RGB").save(data, format="JPEG", quality=quality)
    return SimpleUploadedFile(name, data.getvalue())


def _add(owner: Any, image: Image.Image, quality: int = 88) -> Picture:
    taken, refused = take_in([_file(image, quality=quality)])
    assert not refused
    return attach(None, owner, taken)[0]


def test_the_keeper_is_asked_and_each_way_on_leads_on(make_thing: Any, as_keeper: Any) -> None:
    first, second, third = make_thing("Wedding, album"), make_thing("Wedding, frame"), make_thing("A quilt")
    original = _add(first, draw("portrait", 3))
    answer = as_keeper.post(
        reverse("pictures:add", args=["things", second.public_id]),
        {"pictures": [_file(draw("portrait", 3).resize((800, 600)), quality=60)]},
        follow=True,
    )
    copy = second.pictures.get()
    page = answer.content.decode()
    assert answer.redirect_chain[-1][0] == reverse("pictures:alike", args=[copy.public_id])
    assert "Looks like" in page and "Wedding, album" in page and original.public_id in page
    unite = f"{reverse('access:unite', args=['things', second.public_id])}?other={first.public_id}"
    assert unite in page and "Wedding, album" in as_keeper.get(unite).content.decode()
    assert _add(third, draw("quilt", 3)).likenesses.count() == 0
    # It waits on both things' pages and in the list until it is settled.
    for thing in (first, second):
        assert "The same picture?" in as_keeper.get(thing.get_absolute_url()).content.decode()
    assert "The same picture?" not in as_keeper.get(third.get_absolute_url()).content.decode()
    assert original.public_id in as_keeper.get(reverse("pictures:twins")).content.decode()
    answer = as_keeper.post(reverse("pictures:alike", args=[copy.public_id]), {"other": original.public_id})
    assert answer["Location"] == second.get_absolute_url()
    assert "The same picture?" not in as_keeper.get(second.get_absolute_url()).content.decode()
    assert original.public_id not in as_keeper.get(reverse("pictures:twins")).content.decode()
    # Taken off and put back: the picture is there again.
    as_keeper.post(reverse("pictures:remove", args=[copy.public_id]))
    assert second.pictures.count() == 0 and Likeness.objects.count() == 0


def test_what_counts_as_alike(make_thing: Any, keeper: Any) -> None:
    from archive.access.actions import withdraw

    one, other, gone = make_thing("one"), make_thing("other"), make_thing("gone")
    teapot = draw("teapot", 3)
    _add(one, teapot)
    assert _add(one, teapot, quality=50).likenesses.count() == 0  # photographed twice: no question
    assert _add(one, teapot).likenesses.get().bits == 0  # the very same file: a question
    blank = Image.new("RGB", (900, 700), (250, 249, 240))
    _add(one, blank)
    assert _add(other, blank, quality=70).likenesses.count() == 0  # blank leaves tell nothing
    assert _add(other, blank).likenesses.count() == 1  # but the same file does
    _add(gone, draw("doll", 3))
    withdraw(keeper, gone, "not ours")
    assert _add(other, draw("doll", 3)).likenesses.count() == 0


def test_undo_and_revival_are_known_to_the_search(make_thing: Any, keeper: Any) -> None:
    from archive.access.models import ChangeSet
    from archive.access.undo import undo
    from archive.pictures.actions import remove_picture

    one, other = make_thing("one"), make_thing("other")
    first = _add(one, draw("lace", 3))
    remove_picture(keeper, first)
    assert _add(other, draw("lace", 3), quality=70).likenesses.count() == 0
    undo(ChangeSet.objects.filter(verb="pictures.remove").latest("pk"), keeper)
    assert one.pictures.count() == 1
    assert _add(make_thing("third"), draw("lace", 3), quality=50).likenesses.count() == 2


def test_the_list_of_pairs_asks_the_database_a_constant_number_of_times(make_thing: Any, as_keeper: Any) -> None:
    def count() -> int:
        as_keeper.get(reverse("pictures:twins"))
        with CaptureQueriesContext(connection) as queries:
            as_keeper.get(reverse("pictures:twins"))
        return len(queries)

    picture = _add(make_thing("0"), draw("map", 3))
    rows = []
    counts = {}
    for n in range(1, 31):
        twin = Picture(thing=make_thing(str(n)), **_columns(picture))
        rows.append(twin)
        if n in (3, 30):
            _save(rows, picture)
            counts[n] = count()
            rows = []
    assert counts[3] == counts[30] <= 12


def _columns(picture: Picture) -> dict[str, Any]:
    names = ("sha256", "original_name", "mime", "width", "height", "fingerprint")
    return {name: getattr(picture, name) for name in names}


def _save(rows: list[Picture], picture: Picture) -> None:
    from archive.access.changes import changing

    with changing(None, "test"):
        for row in rows:
            row.save()
            Likeness(picture=row, other=picture, bits=1).save()


@pytest.mark.django_db
def test_a_relative_learns_nothing_of_pairs(make_thing: Any, as_relative: Any) -> None:
    one, other = make_thing("open"), make_thing("secret", access="keeper")
    _add(other, draw("book", 3))
    picture = _add(one, draw("book", 3))
    assert picture.likenesses.count() == 1
    assert "The same picture" not in as_relative.get(one.get_absolute_url()).content.decode()
    for name, args in (("alike", [picture.public_id]), ("twins", [])):
        assert as_relative.get(reverse(f"pictures:{name}", args=args)).status_code == 404
