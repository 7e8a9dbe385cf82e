"""Reading the square code of a label from a photograph, and numbers from what was pasted (pure; no Django).

A label's code holds the address of its number, ``http://…/t/0214-6/``, or the number alone. Whatever address stands
in it, only the number counts, and only when its check character fits.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from archive.numbers import read_typed
from archive.pictures.decoding import PictureRefused, decode_all, open_image

if TYPE_CHECKING:
    from PIL import Image

# Phones take up to 50 megapixels as a rule and 200 at their most; more than this is no photograph of a label.
PIXELS_AT_MOST = 120_000_000
BYTES_AT_MOST = 60 * 1024 * 1024
CODES_AT_MOST = 60  # in one picture
# Small enough to be quick; only where nothing is found is the picture looked at in full.
_SIDES = (2000, 5000)
_ADDRESS = re.compile(r"/t/([^/?#\s]{1,40})/?(?:[?#]\S*)?$")
_PIECE = re.compile(r"\s*/\s*\d+[fb]?$", re.IGNORECASE)
_SLASH = re.compile(r"\s*/\s*(\d)")
_BETWEEN = re.compile(r"[\n\r,;\t|]+")

NEARER = (
    "No square code could be read in it. Go nearer, so that the code fills a third of the picture, hold still, "
    "and let more light fall on it. Or type the number that stands beside the code."
)
FOREIGN = "The code in it is not one of our labels. Photograph the label with the number, or type the number."


@dataclass(frozen=True)
class Photographed:
    """What was read in one picture: our numbers, or a sentence why there is none."""

    name: str
    numbers: tuple[str, ...]
    why: str = ""


def number_in(text: str) -> str | None:
    """Return the number in a code's text, an address ``…/t/0214-6/`` or the number alone; None where there is none."""
    found = _ADDRESS.search(text.strip())
    return read_typed(found.group(1) if found else text).number


def read_picture(path: Path, name: str) -> Photographed:
    """Read all label codes in a picture file, turned and blurred within reason."""
    try:
        texts = _texts(path)
    except PictureRefused as error:
        return Photographed(name, (), str(error))
    numbers = tuple(dict.fromkeys(number for text in texts if (number := number_in(text))))
    return Photographed(name, numbers, "" if numbers else FOREIGN if texts else NEARER)


def _texts(path: Path) -> list[str]:
    """Return the texts of the codes in a picture.

    Raises:
        PictureRefused: it is no picture, broken, or too large.
    """
    size = path.stat().st_size
    if size == 0:
        raise PictureRefused("empty", "It is empty (0 bytes). Photograph the label again.")
    if size > BYTES_AT_MOST:
        raise PictureRefused("too-large", f"It is larger than {BYTES_AT_MOST // 1_048_576} MB. Photograph it smaller.")
    for side in _SIDES:
        with open_image(path) as image:
            if image.width * image.height > PIXELS_AT_MOST:
                raise PictureRefused("too-many-pixels", "It has too many pixels. Photograph it smaller.")
            whole = max(image.size) <= side
            decode_all(image, (min(side, image.width), min(side, image.height)))
            texts = _decode(image, side)
        if texts or whole:
            return texts
    return []


def _decode(image: Image.Image, side: int) -> list[str]:
    import zxingcpp

    grey = image.convert("L")
    if max(grey.size) > side:
        grey.thumbnail((side, side))
    found = zxingcpp.read_barcodes(grey, formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode))
    return [code.text for code in found[:CODES_AT_MOST]]


def split_numbers(text: str) -> list[str]:
    """Return what was typed or pasted as single numbers: one a line or separated; the piece after ``/`` is dropped.

    Numbers are spelt as we write them, anything else is as it was typed; what stands twice is kept once.
    """
    found: list[str] = []
    for chunk in _BETWEEN.split(text):
        chunk = _SLASH.sub(r"/\1", " ".join(chunk.split()))
        if not chunk:
            continue
        words = [_without_piece(word) for word in chunk.split(" ")]
        whole = _without_piece(chunk)
        # “0214 6” is one number with a space in it; “0214-6 0305-2” are two.
        if len(words) > 1 and not any(read_typed(word).serial for word in words) and read_typed(whole).serial:
            words = [whole]
        found.extend(word for word in words if word)
    return list(dict.fromkeys(found))


def _without_piece(typed: str) -> str:
    return number_in(typed) or (typed if "://" in typed else _PIECE.sub("", typed))
