"""Picture files: every format decoded, broken and hostile ones refused in words, sizes right side up and clean."""

from __future__ import annotations

import io
import json
import struct
import subprocess
import zlib
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from archive.pictures.decoding import PIXELS_AT_MOST, PictureRefused, inspect
from archive.pictures.thumbnails import SIZES, differing_bits, fingerprint, make_sizes


def corners(size: tuple[int, int] = (400, 200)) -> Image.Image:
    """Red top left, green top right, blue bottom left, white bottom right."""
    image = Image.new("RGB", size, "white")
    half = (size[0] // 2, size[1] // 2)
    image.paste((255, 0, 0), (0, 0, *half))
    image.paste((0, 255, 0), (half[0], 0, size[0], half[1]))
    image.paste((0, 0, 255), (0, half[1], half[0], size[1]))
    return image


@pytest.mark.parametrize("fmt", ["JPEG", "PNG", "WEBP", "TIFF", "GIF", "AVIF", "HEIF"])
def test_formats(fmt: str, tmp_path: Path) -> None:
    import pillow_heif

    pillow_heif.register_heif_opener()
    path = tmp_path / "misnamed.txt"  # what it is, is found by decoding
    corners().save(path, format=fmt)
    seen = inspect(path, name=path.name)
    assert (seen.format, seen.width, seen.height) == (fmt, 400, 200)
    for size, made in make_sizes(path, tmp_path / "made").items():
        with Image.open(made) as image:
            assert max(image.size) == min(size, 400)
            assert image.convert("RGB").getpixel((5, 5))[0] > 200 > image.convert("RGB").getpixel((5, 5))[1]


@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_is_put_right(orientation: int, tmp_path: Path) -> None:
    """EXIF 2.32 tag 0x0112: the stored picture is turned so that looking at it shows red top left."""
    undo = {2: 0, 3: 3, 4: 1, 5: 5, 6: 2, 7: 6, 8: 4}  # Pillow's transpose that the camera did
    image = corners()
    if orientation > 1:
        image = image.transpose(Image.Transpose(undo[orientation]))
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x8769] = {0x9003: "2019:07:14 10:22:33"}
    path = tmp_path / "turned.jpg"
    image.save(path, exif=exif, quality=95)
    seen = inspect(path, name="turned.jpg")
    assert (seen.width, seen.height, seen.taken) == (400, 200, "2019-07-14 10:22")
    with Image.open(make_sizes(path, tmp_path / "made")[640]) as made:
        assert made.size == (400, 200)
        red, green, blue = (made.getpixel(at) for at in ((20, 20), (380, 20), (20, 180)))
    assert red[0] > 200 and green[1] > 200 and blue[2] > 200


@pytest.mark.parametrize(
    ("noted", "taken"),
    [
        ("2019:07:14 10:22:33", "2019-07-14 10:22"), ("2019:07:14", "2019-07-14"), ("0000:00:00 00:00:00", ""),
        ("2019:07:14 \x1b[31mx", "2019-07-14"), ("2019:07:14 <b>:0", "2019-07-14"), ("²019:07:14 10:22", ""),
        (f"2019:07:{'1' * 4000} 10:22", "2019-07-11"), ("nonsense", ""), ("=1+1:07:14 10:22", ""),
    ],
)  # fmt: skip
def test_a_cameras_note_is_a_day_and_a_time_or_nothing(noted: str, taken: str, tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x8769] = {0x9003: noted}
    path = tmp_path / "noted.jpg"
    corners().save(path, exif=exif)
    assert inspect(path, name="noted.jpg").taken == taken


def test_sizes_hold_no_notes(tmp_path: Path) -> None:
    """Read back by exiftool, an independent reader."""
    exif = Image.Exif()
    exif[0x010E] = "a private description"
    path = tmp_path / "a.jpg"
    corners((3000, 1500)).save(path, exif=exif, comment=b"private")
    for made in make_sizes(path, tmp_path / "made").values():
        (notes,) = json.loads(subprocess.run(["exiftool", "-json", str(made)], capture_output=True, check=True).stdout)
        assert "private" not in json.dumps(notes)


def _png_header(width: int, height: int) -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    )


def _saved(image: Image.Image, fmt: str, **options: Any) -> bytes:
    file = io.BytesIO()
    image.save(file, format=fmt, **options)
    return file.getvalue()


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "empty"),
        (_png_header(50_000, 50_000), "too-many-pixels"),
        (_saved(corners((900, 900)), "JPEG")[:3000], "broken"),
        (_saved(corners((900, 900)), "PNG")[:900], "broken"),
        (b"%PDF-1.7 ...", "not-a-picture"),
        (b"PK\x03\x04" + b"\0" * 60, "not-a-picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not-a-picture"),
        (b"MZ" + b"\0" * 60, "not-a-picture"),
        (b"just some words", "not-a-picture"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 40, "not-a-picture"),
    ],
)
def test_refusals_are_sentences(data: bytes, code: str, tmp_path: Path) -> None:
    path = tmp_path / "x.jpg"
    path.write_bytes(data)
    with pytest.raises(PictureRefused) as caught:
        inspect(path, name="x.jpg")
    assert str(caught.value).endswith(".") and len(str(caught.value)) > 20
    assert caught.value.code in (code, "broken")


def test_a_scan_of_120_megapixels_is_accepted(tmp_path: Path) -> None:
    path = tmp_path / "scan.png"
    Image.new("L", (12_000, 10_000), 200).save(path, compress_level=1)
    seen = inspect(path, name="scan.png")
    assert seen.width * seen.height == 120_000_000 < PIXELS_AT_MOST
    with Image.open(make_sizes(path, tmp_path / "made")[1280]) as made:
        assert made.size == (1280, 1067)


def test_grey_of_16_bits_cmyk_and_transparency(tmp_path: Path) -> None:
    for name, image, expected in (
        ("deep.png", Image.new("I;16", (50, 50), 40_000), 155),
        ("print.jpg", Image.new("CMYK", (50, 50), (0, 0, 0, 0)), 255),
        ("clear.png", Image.new("RGBA", (50, 50), (0, 0, 0, 0)), 255),
    ):
        image.save(tmp_path / name)
        with Image.open(make_sizes(tmp_path / name, tmp_path / name.partition(".")[0])[SIZES[0]]) as made:
            assert made.convert("L").getpixel((25, 25)) == pytest.approx(expected, abs=2)


def test_pictures_that_packages_ship_are_read(tmp_path: Path) -> None:
    """Files that are not ours: whatever pictures the installed packages bring."""
    import sysconfig

    found = 0
    for pattern in ("**/*.png", "**/*.jpg", "**/*.gif", "**/*.webp", "**/*.tif"):
        for path in sorted(Path(sysconfig.get_paths()["purelib"]).glob(pattern))[:15]:
            seen = inspect(path, name=path.name)
            assert make_sizes(path, tmp_path / str(found))[320].exists() and seen.width
            found += 1
    assert found >= 3


def test_fingerprints_of_like_pictures_are_near(tmp_path: Path) -> None:
    from archive.demo.drawings import draw

    prints = {}
    for name in ("portrait", "quilt", "teapot"):
        image = draw(name, 3).resize((800, 600))
        for variant, changed in (("whole", image), ("small", image.resize((400, 300)))):
            path = tmp_path / f"{name}-{variant}.jpg"
            changed.save(path, quality=70)
            prints[name, variant] = fingerprint(path)
    for name in ("portrait", "quilt", "teapot"):
        assert differing_bits(prints[name, "whole"], prints[name, "small"]) <= 6
    assert differing_bits(prints["portrait", "whole"], prints["teapot", "whole"]) > 6
