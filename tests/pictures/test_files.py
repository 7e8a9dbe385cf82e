"""Files as they are uploaded: PDF pages, animations, turned pictures, notes of cameras, and what is refused."""

from __future__ import annotations

import io
import json
import os
import random
import struct
import subprocess
import sysconfig
import zlib
from pathlib import Path
from typing import Any

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageChops, ImageDraw, ImageStat, features
from reportlab.pdfgen import canvas

from archive.keeping import media_store
from archive.pictures import pdf
from archive.pictures.actions import TakenIn, attach, held, in_words, take_in
from archive.pictures.decoding import PictureRefused, inspect
from archive.pictures.derived import size_file
from archive.pictures.limits import limit
from archive.pictures.thumbnails import LARGE, SIZES, make_sizes


def scene(size: tuple[int, int] = (480, 320)) -> Image.Image:
    """A picture that looks different in each of the eight turns."""
    image = Image.new("RGB", size, (240, 230, 210))
    draw = ImageDraw.Draw(image)
    draw.polygon([(20, 20), (260, 30), (60, 220)], fill=(180, 20, 30))
    draw.rectangle((300, 200, 460, 300), fill=(20, 60, 160))
    draw.ellipse((330, 20, 460, 100), fill=(20, 140, 60))
    return image


def saved(image: Image.Image, fmt: str, **options: Any) -> bytes:
    file = io.BytesIO()
    image.save(file, format=fmt, **options)
    return file.getvalue()


def difference(first: Image.Image, second: Image.Image) -> float:
    """Return by how much of 255 two pictures of one size differ at a pixel, on average."""
    assert first.size == second.size
    return max(ImageStat.Stat(ImageChops.difference(first.convert("RGB"), second.convert("RGB"))).mean)


def upload(name: str, data: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data)


def a_pdf(pages: int = 3, size: tuple[float, float] = (595, 842)) -> bytes:
    """A PDF whose page n has a black field of n tenths of its width at the top."""
    file = io.BytesIO()
    paper = canvas.Canvas(file, pagesize=size)
    for page in range(1, pages + 1):
        paper.rect(0, size[1] * 0.9, size[0] * (page % 10) / 10, size[1] * 0.1, stroke=0, fill=1)
        paper.drawString(100, 100, f"leaf {page}")
        paper.showPage()
    paper.save()
    return file.getvalue()


# -- PDF ------------------------------------------------------------------------------------------------------


def test_each_page_of_a_pdf_is_a_picture_and_the_file_stays_as_it_is(make_thing: Any, as_keeper: Any) -> None:
    data = a_pdf(3)
    taken, refused = take_in([upload("letters.pdf", data)])
    assert refused == [] and [(each.page, each.frames) for each in taken] == [(1, 3), (2, 3), (3, 3)]
    assert len({each.sha256 for each in taken}) == 1 and {each.mime for each in taken} == {"application/pdf"}
    # A4 is 210 × 297 mm; the long side is drawn at 2560 pixels.
    assert (taken[0].width, taken[0].height) == (round(2560 * 595 / 842), 2560)
    assert media_store.original_path(taken[0].sha256).read_bytes() == data
    for each in taken:
        with Image.open(size_file(each.sha256, each.page, 320, 2560)) as image:
            grey = image.convert("L")
            dark = sum(grey.getpixel((x, 5)) < 128 for x in range(grey.width)) / grey.width
            assert image.height == 320 and dark == pytest.approx(each.page / 10, abs=0.02)
    assert held([each.ticket() for each in taken]) == taken
    rows = attach(None, make_thing(), taken)
    assert [(row.page, row.frames) for row in rows] == [(1, 3), (2, 3), (3, 3)] and "Page 2" in rows[1].alt
    answer = as_keeper.get(f"/pictures/{rows[1].public_id}/file/")
    assert answer["Content-Type"] == "application/pdf" and answer["Content-Disposition"].startswith("attachment")
    assert b"".join(answer.streaming_content) == data
    large = as_keeper.get(f"/pictures/{rows[1].public_id}/{LARGE}/")
    with Image.open(io.BytesIO(b"".join(large.streaming_content))) as image:
        assert image.format == "JPEG" and max(image.size) == LARGE
    page = as_keeper.get(f"/pictures/{rows[1].public_id}/edit/").content.decode()
    assert "page 2 of 3" in page and "Save the PDF" in page


def test_sizes_of_pages_come_back_when_the_derived_folder_was_emptied(make_thing: Any, as_keeper: Any) -> None:
    import shutil

    taken, _ = take_in([upload("letters.pdf", a_pdf(2))])
    rows = attach(None, make_thing(), taken)
    shutil.rmtree(media_store.derived_folder(taken[0].sha256))
    for row in rows:
        answer = as_keeper.get(f"/pictures/{row.public_id}/640/")
        with Image.open(io.BytesIO(b"".join(answer.streaming_content))) as image:
            assert max(image.size) == 640


def _locked() -> bytes:
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(a_pdf(1)))
    writer.encrypt("three words")
    file = io.BytesIO()
    writer.write(file)
    return file.getvalue()


def _no_pages() -> bytes:
    file = io.BytesIO()
    pypdf.PdfWriter().write(file)
    return file.getvalue()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (_locked, "password"),
        (lambda: a_pdf(1)[:200], "broken"),
        (lambda: b"%PDF-1.7\n" + b"\0" * 500, "broken"),
        (_no_pages, ""),  # PDFium calls it broken or without pages
        (lambda: a_pdf(limit("pdf_pages_at_most") + 1), f"{limit('pdf_pages_at_most') + 1} pages"),
    ],
)
def test_pdfs_that_are_refused(home: Path, db: None, data: Any, words: str) -> None:
    taken, refused = take_in([upload("a.pdf", data())])
    assert taken == [] and len(refused) == 1
    assert words in refused[0].why and refused[0].why.endswith(".")
    assert not any(path.is_file() for name in ("incoming", "media", "derived") for path in (home / name).rglob("*"))


def test_a_page_that_claims_to_be_huge_is_drawn_no_larger(tmp_path: Path) -> None:
    """14,400 points (200 inches) are the largest page of PDF 1.7 (ISO 32000-1, annex C.2)."""
    (tmp_path / "a.pdf").write_bytes(a_pdf(1, (14_400, 3_600)))
    (page,) = pdf.draw_pages(tmp_path / "a.pdf", tmp_path / "made")
    assert (page.width, page.height) == (2560, 640)
    with Image.open(tmp_path / "made" / "page-1" / "1280.jpg") as image:
        assert image.size == (1280, 320)


def test_drawing_ends_at_its_limit_of_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawing that goes on for ever is ended by the clock, with a sentence."""
    import subprocess as processes
    import sys
    import time

    (tmp_path / "a.pdf").write_bytes(a_pdf(1))
    run = processes.run
    monkeypatch.setattr(pdf, "limit", lambda name: {"pdf_seconds": 1}.get(name) or limit(name))
    monkeypatch.setattr(
        pdf.subprocess, "run", lambda command, **options: run([sys.executable, "-c", "while True: pass"], **options)
    )
    began = time.monotonic()
    with pytest.raises(PictureRefused, match="too long"):
        pdf.draw_pages(tmp_path / "a.pdf", tmp_path / "made")
    assert time.monotonic() - began < 5


def test_drawing_ends_at_its_limit_of_memory(home: Path, db: None) -> None:
    """A picture of 40,000 × 40,000 pixels inside a page of a few kilobytes."""
    grey = zlib.compress(bytes(40_000), 9)
    body = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 300 300]/Contents 4 0 R/Resources<</XObject<</I 5 0 R>>>>>>",
        b"<</Length 29>>stream\nq 300 0 0 300 0 0 cm /I Do Q\nendstream",
        b"<</Type/XObject/Subtype/Image/Width 40000/Height 40000/BitsPerComponent 8/ColorSpace/DeviceRGB"
        b"/Filter/FlateDecode/Length %d>>stream\n%s\nendstream" % (len(grey), grey),
    ]
    data = b"%PDF-1.4\n" + b"".join(b"%d 0 obj%s endobj\n" % (n, each) for n, each in enumerate(body, 1))
    data += b"trailer<</Root 1 0 R/Size 6>>\n%%EOF"
    taken, refused = take_in([upload("a.pdf", data)])
    # Either PDFium leaves such a picture out, and the page is drawn within the limits, or the file is refused.
    assert len(taken) + len(refused) == 1
    assert all(max(each.width, each.height) <= 2560 for each in taken)
    assert all(each.why.endswith(".") for each in refused)


# -- turned pictures and their notes ----------------------------------------------------------------------------


@pytest.mark.parametrize("fmt", ["JPEG", "PNG", "WEBP", "TIFF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_turn_written_by_exiftool_is_put_right(fmt: str, orientation: int, tmp_path: Path) -> None:
    """EXIF 2.32, tag 0x0112. The notes are written and read back by exiftool, an independent program."""
    camera_did = {2: 0, 3: 3, 4: 1, 5: 5, 6: 2, 7: 6, 8: 4}  # the turn of Pillow that undoes each
    stored = scene() if orientation == 1 else scene().transpose(Image.Transpose(camera_did[orientation]))
    path = tmp_path / "turned"
    path.write_bytes(saved(stored, fmt, **({"quality": 95} if fmt in ("JPEG", "WEBP") else {})))
    note = ["-q", "-overwrite_original", "-n", f"-Orientation={orientation}", "-DateTimeOriginal=2019:05:03 14:22:33"]
    subprocess.run(["exiftool", *note, str(path)], check=True)
    (read,) = json.loads(subprocess.run(["exiftool", "-json", "-n", path], capture_output=True, check=True).stdout)
    assert read["Orientation"] == orientation
    seen = inspect(path, name="turned")
    assert (seen.width, seen.height, seen.taken) == (480, 320, "2019-05-03 14:22")
    with Image.open(make_sizes(path, tmp_path / "made")[640]) as made:
        assert difference(made, scene()) < 3
    for size in SIZES:
        made_path = tmp_path / "made" / f"{size}.jpg"
        (notes,) = json.loads(subprocess.run(["exiftool", "-json", "-G1", made_path], capture_output=True).stdout)
        assert not [name for name in notes if name.split(":")[0] in ("IFD0", "ExifIFD", "GPS", "XMP", "IPTC")], notes


@pytest.mark.parametrize("fmt", ["HEIF", "AVIF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_turn_of_the_container_is_put_right_once(fmt: str, orientation: int, tmp_path: Path) -> None:
    """HEIC and AVIF turn by ``irot`` and ``imir`` (ISO/IEC 23008-12, 6.5.10 and 6.5.12), not by EXIF."""
    import pillow_heif

    pillow_heif.register_heif_opener()
    assert features.check("avif")
    camera_did = {2: 0, 3: 3, 4: 1, 5: 5, 6: 2, 7: 6, 8: 4}
    stored = scene() if orientation == 1 else scene().transpose(Image.Transpose(camera_did[orientation]))
    exif = Image.Exif()
    exif[0x0112] = orientation
    data = saved(stored, fmt, quality=95, exif=exif.tobytes())
    assert (b"irot" in data or b"imir" in data) == (orientation > 1)
    path = tmp_path / "turned"
    path.write_bytes(data)
    seen = inspect(path, name="turned")
    assert (seen.format, seen.width, seen.height) == (fmt, 480, 320)
    with Image.open(make_sizes(path, tmp_path / "made")[640]) as made:
        assert difference(made, scene()) < 4


def test_derived_pictures_carry_no_word_of_the_original(home: Path, db: None, tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    path.write_bytes(saved(scene((2000, 1500)), "JPEG", comment=b"canary"))
    notes = [
        "-Artist=canary",
        "-XMP-dc:Title=canary",
        "-IPTC:Keywords=canary",
        "-GPSLatitude=54.5",
        "-GPSLatitudeRef=N",
    ]
    subprocess.run(["exiftool", "-q", "-overwrite_original", *notes, path], check=True)
    (taken,), _ = take_in([upload("a.jpg", path.read_bytes())])
    for size in (*SIZES, LARGE):
        made = size_file(taken.sha256, 0, size, max(taken.width, taken.height))
        assert b"canary" not in made.read_bytes()
        (read,) = json.loads(subprocess.run(["exiftool", "-json", made], capture_output=True, check=True).stdout)
        assert "canary" not in json.dumps(read) and not [name for name in read if "GPS" in name]
    assert b"canary" in media_store.original_path(taken.sha256).read_bytes()


# -- other kinds of file ------------------------------------------------------------------------------------------


def test_an_animation_is_kept_whole_and_its_first_frame_shown(home: Path, db: None) -> None:
    frames = [Image.new("RGB", (300, 200), colour) for colour in ("red", "green", "blue")]
    data = saved(frames[0], "GIF", save_all=True, append_images=frames[1:], duration=100)
    (taken,), refused = take_in([upload("dance.gif", data)])
    assert (taken.frames, taken.page, refused) == (3, 0, [])
    assert "dance.gif moves" in in_words([taken])[0]
    assert media_store.original_path(taken.sha256).read_bytes() == data
    with Image.open(size_file(taken.sha256, 0, 320, 300)) as image:
        red, green, blue = image.convert("RGB").getpixel((150, 100))
        assert red > 200 and green < 60 and blue < 60


def test_a_tiff_of_several_leaves_says_so(home: Path, db: None) -> None:
    leaves = [scene(), scene().rotate(90)]
    (taken,), _ = take_in([upload("a.tif", saved(leaves[0], "TIFF", save_all=True, append_images=leaves[1:]))])
    assert taken.frames == 2 and "holds 2 pictures" in in_words([taken])[0]


def test_a_palette_with_transparency_stands_on_white(tmp_path: Path) -> None:
    image = Image.new("P", (60, 60), 1)
    image.putpalette([255, 0, 0, 0, 0, 255])
    image.paste(0, (0, 0, 30, 60))
    image.save(tmp_path / "a.png", transparency=0)
    with Image.open(make_sizes(tmp_path / "a.png", tmp_path / "made")[320]) as made:
        left, right = made.convert("RGB").getpixel((5, 30)), made.convert("RGB").getpixel((55, 30))
    assert min(left) > 240 and right[2] > 200 and right[0] < 60


def _bomb(side: int) -> bytes:
    """A PNG of one bit a pixel, all of them there, in some thirty kilobytes."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    packer = zlib.compressobj(9)
    rows = b"".join(packer.compress(bytes(1 + side // 8)) for _ in range(side)) + packer.flush()
    head = struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def _bad_files() -> dict[str, bytes]:
    chaos = random.Random(4)
    heic = saved(scene(), "AVIF")
    huge = struct.pack(">IIBBBBB", 2_000_000, 2_000_000, 8, 2, 0, 0, 0)
    return {
        "empty.jpg": b"",
        "one.jpg": b"\xff",
        "movie.jpg": b"\0\0\0\x20ftypisom\0\0\2\0isomiso2avc1mp41" + chaos.randbytes(3000),
        "cut.jpg": saved(scene(), "JPEG")[:4000],
        "cut.png": saved(scene(), "PNG")[:1500],
        "cut.gif": saved(scene(), "GIF")[:900],
        "cut.avif": heic[: len(heic) // 2],
        "cut.tif": saved(scene(), "TIFF")[:5000],
        "huge.png": b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR" + huge + struct.pack(
            ">I", zlib.crc32(b"IHDR" + huge)
        ),
        "bomb.png": _bomb(16_000),
        "huge.gif": b"GIF89a" + struct.pack("<HH", 65_535, 65_535) + b"\x80\0\0\0\0\0\xff\xff\xff,\0\0\0\0"
        + struct.pack("<HH", 65_535, 65_535) + b"\0\2\2L\1\0;",
        "letter.jpg": b"Dear Ragna,\nthe ferry is late again.\n",
        "page.png": b"<!doctype html><script>alert(1)</script>",
        "drawing.jpg": b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        "noise.webp": b"RIFF\x10\0\0\0WEBPVP8 " + chaos.randbytes(200),
        "noise.jpg": chaos.randbytes(5000),
    }  # fmt: skip


def test_bad_files_get_a_sentence_and_good_ones_go_in(home: Path, db: None) -> None:
    good = saved(scene(), "JPEG")
    bad = _bad_files()
    taken, refused = take_in([upload("good.jpg", good), *(upload(name, data) for name, data in bad.items())])
    assert [each.name for each in taken] == ["good.jpg"]
    assert [each.name for each in refused] == list(bad)
    for each in refused:
        assert each.why.endswith(".") and len(each.why) > 20 and "Error:" not in each.why, each
    said = {each.name: each.why for each in refused}
    assert "empty" in said["empty.jpg"] and "movie" in said["movie.jpg"] and "million" in said["bomb.png"]
    assert "cut off" in said["cut.avif"] and "web page" in said["page.png"]
    # Nothing half-saved: the one good original, its sizes, and no more.
    assert [path.name for path in media_store.stored()] == [taken[0].sha256]
    assert not list((home / "incoming").iterdir())
    assert {path.name for path in (home / "derived").rglob("*") if path.is_file()} == {f"{size}.jpg" for size in SIZES}


def test_spoilt_files_never_break_the_server(home: Path, db: None) -> None:
    """Real files with bytes changed at random: taken in or refused in a sentence, never an error."""
    chaos = random.Random(7)
    wholes = [saved(scene((200, 140)), fmt) for fmt in ("JPEG", "PNG", "GIF", "WEBP", "TIFF", "AVIF")] + [a_pdf(1)]
    files = []
    for n in range(70):
        data = bytearray(wholes[n % len(wholes)])
        for _ in range(chaos.choice((1, 5, 40))):
            data[chaos.randrange(len(data))] = chaos.randrange(256)
        files.append(upload(f"{n}.bin", bytes(data)))
    taken, refused = take_in(files)
    assert len(taken) + len(refused) >= 70 and all(each.why.endswith(".") for each in refused)
    assert taken and refused


def test_pictures_that_came_with_the_computer_are_taken_in(home: Path, db: None) -> None:
    """Files that are not ours, of every kind that the installed packages and the system bring."""
    roots = [Path(sysconfig.get_paths()["purelib"]), Path("/usr/share")]
    found: dict[str, list[Path]] = {}
    for root in roots:
        for folder, _, names in os.walk(root):
            for name in names:
                kind = name.rpartition(".")[2].lower()
                if kind in ("png", "jpg", "jpeg", "gif", "webp", "tif", "tiff", "pdf", "avif", "heic"):
                    path = Path(folder) / name
                    if len(found.setdefault(kind, [])) < 12 and 0 < path.stat().st_size < 2_000_000:
                        found[kind].append(path)
    paths = [path for each in found.values() for path in each]
    assert len(paths) >= 10, f"only {len(paths)} pictures were found"
    taken, refused = take_in([upload(path.name, path.read_bytes()) for path in paths])
    assert len({each.sha256 for each in taken}) >= 0.9 * len({path.read_bytes() for path in paths}), refused


def test_a_ticket_from_before_pages_were_kept_is_still_good(home: Path, db: None) -> None:
    from django.core import signing

    (taken,), _ = take_in([upload("a.jpg", saved(scene(), "JPEG"))])
    old = {name: value for name, value in taken.__dict__.items() if name not in ("page", "frames")}
    ticket = signing.dumps(old, salt="held-picture", compress=True)
    assert held([ticket, "spoilt"]) == [TakenIn(**old)] == [taken]
