"""Looking at an uploaded file: is it a picture that can be kept, and what does it say of itself (pure; Pillow).

What a file is, is found by decoding it, never by its name. Limits hold before anything is decoded.
"""

from __future__ import annotations

import re
import struct
import warnings
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from archive.pictures.limits import limit

if TYPE_CHECKING:
    from PIL import Image

PIXELS_AT_MOST = limit("pixels_at_most")
SIDE_AT_MOST = limit("side_at_most")
TAKEN_IN = "JPEG, PNG, WebP, TIFF, HEIC, AVIF, GIF and PDF are taken in."

# Pillow's name of a format → media type and the words for it.
FORMATS: dict[str, tuple[str, str]] = {
    "JPEG": ("image/jpeg", "JPEG"),
    "MPO": ("image/jpeg", "JPEG"),
    "PNG": ("image/png", "PNG"),
    "WEBP": ("image/webp", "WebP"),
    "TIFF": ("image/tiff", "TIFF"),
    "HEIF": ("image/heic", "HEIC"),
    "GIF": ("image/gif", "GIF"),
    "AVIF": ("image/avif", "AVIF"),
}
# What decoders raise for spoilt files; AVIF's says RuntimeError.
_CUT_OFF = "It is broken or was cut off while copying. Copy it again."
_BROKEN = (
    OSError, ValueError, SyntaxError, EOFError, OverflowError, MemoryError, KeyError, IndexError, TypeError,
    RuntimeError,
)  # fmt: skip
_EXIF_ORIENTATION, _EXIF_IFD, _TAKEN = 0x0112, 0x8769, 0x9003
# As EXIF writes a time (CIPA DC-008, DateTimeOriginal); whatever else stands there is left alone.
_TAKEN_AS = re.compile(r"([0-9]{4}):([0-9]{2}):([0-9]{2})(?: ([0-9]{2}:[0-9]{2}))?")
# Boxes of pictures look like boxes of movies but for their brand (ISO/IEC 23008-12).
_PICTURE_BRANDS = (b"avif", b"avis", b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1")
_HEADS: tuple[tuple[int, bytes, str], ...] = (
    (0, b"PK\x03\x04", "a zip or office file"),
    (4, b"ftyp", "a movie"),
    (0, b"\x1aE\xdf\xa3", "a movie"),
    (0, b"RIFF", "a movie or a sound"),
    (0, b"ID3", "a sound"),
    (0, b"OggS", "a sound or a movie"),
    (0, b"MZ", "a program"),
    (0, b"\x7fELF", "a program"),
    (0, b"<svg", "a drawing in SVG, which can hold commands"),
    (0, b"<?xml", "an XML file"),
    (0, b"<", "a web page"),
)


class PictureRefused(ValueError):
    """A file is not taken in; the message is a sentence for the keeper, the code one word for programs."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True)
class Inspected:
    """What a picture file says of itself. Width and height are as it is to be looked at, orientation applied."""

    format: str
    mime: str
    width: int
    height: int
    orientation: int  # EXIF 1 to 8
    taken: str  # the camera's date as ``2019-07-14 10:22``, or nothing; a suggestion, no more
    frames: int


def open_image(path: Path) -> Image.Image:
    """Open a picture with every decoder that is allowed, without decoding it yet.

    Raises:
        PictureRefused: it is none of the kinds of picture that are taken in.
    """
    from PIL import Image, UnidentifiedImageError

    _know_heif()
    Image.MAX_IMAGE_PIXELS = None  # our own limit, in words, stands below
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image = Image.open(path, formats=[each for each in FORMATS if each in Image.OPEN])
    except UnidentifiedImageError:
        raise PictureRefused("not-a-picture", _what_it_is(path)) from None
    except _BROKEN:
        raise PictureRefused("broken", "It is broken and cannot be opened. Copy it again.") from None
    if image.width > SIDE_AT_MOST or image.height > SIDE_AT_MOST or image.width * image.height > PIXELS_AT_MOST:
        size = f"{image.width} × {image.height}"
        image.close()
        raise PictureRefused(
            "too-many-pixels",
            f"It claims {size} pixels; up to {PIXELS_AT_MOST // 1_000_000} million are taken in. Scan it smaller.",
        )
    return image


def _know_heif() -> None:
    from PIL import Image

    if "HEIF" not in Image.OPEN:
        import pillow_heif

        Image.init()
        pillow_heif.register_heif_opener()


def inspect(path: Path, *, name: str, decode: bool = True) -> Inspected:
    """Look at a file and decode all of it once, so that a broken one is found now and not in ten years.

    ``decode`` is False where the sizes are made next, which decodes every byte too.

    Raises:
        PictureRefused: it is empty, no picture, broken, or too large.
    """
    if path.stat().st_size == 0:
        raise PictureRefused("empty", "It is empty (0 bytes). Copy it again from the camera or card.")
    with open_image(path) as image:
        notes = _notes(image, path)
        orientation, taken = _orientation(image, notes), _taken(notes)
        frames = _frames(image)
        width, height = image.size
        found = image.format or ""
        if decode:
            # Every byte is still read; only the last step, full-size pixels, is left out.
            decode_all(image, (width // 8, height // 8))
    if orientation in (5, 6, 7, 8):
        width, height = height, width
    return Inspected(found, FORMATS[found][0], width, height, orientation, taken, frames)


def _frames(image: Image.Image) -> int:
    """Return how many pictures the file holds: of an animation, or the leaves of a TIFF.

    Raises:
        PictureRefused: it was cut off within one.
    """
    try:
        return max(1, int(getattr(image, "n_frames", 1)))
    except _BROKEN:
        raise PictureRefused("broken", _CUT_OFF) from None


def decode_all(image: Image.Image, least: tuple[int, int]) -> None:
    """Decode an opened picture; a JPEG straight to a half, a quarter or an eighth that is no smaller than `least`.

    Raises:
        PictureRefused: it is broken or was cut off.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if image.format in ("JPEG", "MPO"):
                image.draft("RGB", least)
            image.load()
    except _BROKEN:
        raise PictureRefused("broken", _CUT_OFF) from None


def orientation_of(image: Image.Image, path: Path) -> int:
    """Return how a picture is still to be turned once decoded, as EXIF counts it, 1 to 8."""
    return _orientation(image, _notes(image, path))


def _notes(image: Image.Image, path: Path) -> Image.Exif | None:
    """Return the camera's notes without decoding the picture; nothing where they cannot be read."""
    from PIL import Image

    try:
        if image.format == "PNG" and "exif" not in image.info:
            # Pillow decodes a whole PNG to find notes that stand behind the picture.
            found = Image.Exif()
            found.load(_png_notes(path))
            return found
        return image.getexif()
    except Exception:
        return None


def _png_notes(path: Path) -> bytes:
    """Return the ``eXIf`` chunk of a PNG (PNG third edition, 11.3.4.3), wherever it stands; empty if there is none."""
    with path.open("rb") as file:
        file.seek(8)
        while len(head := file.read(8)) == 8:
            length, kind = struct.unpack(">I4s", head)
            if kind == b"eXIf":
                return file.read(min(length, 1 << 20))
            if kind == b"IEND":
                break
            file.seek(length + 4, 1)
    return b""


def _orientation(image: Image.Image, notes: Image.Exif | None) -> int:
    # Pillow turns TIFF while decoding, and libheif HEIC. AVIF's own turn (`irot`, `imir`) is told as if it were EXIF's.
    if image.format in ("HEIF", "TIFF"):
        return 1
    value = notes.get(_EXIF_ORIENTATION, 1) if notes else 1
    return value if value in range(1, 9) else 1


def _taken(notes: Image.Exif | None) -> str:
    try:
        noted = str(notes.get_ifd(_EXIF_IFD).get(_TAKEN, "")) if notes else ""
    except Exception:
        return ""
    found = _TAKEN_AS.match(noted.strip("\0 "))
    if found is None or found[1] == "0000":
        return ""
    return f"{found[1]}-{found[2]}-{found[3]} {found[4] or ''}".strip()


def day_taken(noted: str) -> date | None:
    """Return the day in a camera's note such as ``2019-07-14 10:22``; None where it is no day of the calendar."""
    try:
        return date.fromisoformat(noted[:10])
    except ValueError:
        return None


def _what_it_is(path: Path) -> str:
    with path.open("rb") as file:
        head = file.read(512)
    looked = head.lstrip(b"\xef\xbb\xbf \r\n\t").lower()
    if head[4:8] == b"ftyp" and head[8:12] in _PICTURE_BRANDS:
        return "It is a HEIC or AVIF picture that is broken or was cut off while copying. Copy it again."
    for offset, sign, words in _HEADS:
        if head[offset : offset + len(sign)] == sign or (looked.startswith(sign.lower()) and offset == 0):
            return f"It is {words}, not a picture. {TAKEN_IN}"
    if b"\0" not in head:
        return f"It is text, not a picture. {TAKEN_IN}"
    return f"It is not a picture, or too broken to tell. {TAKEN_IN}"
