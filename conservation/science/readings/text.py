"""From bytes to lines: what a file is encoded in, and whether it is text at all."""

from __future__ import annotations

import codecs
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from conservation.science.readings.model import NotReadings

SAMPLE_BYTES = 262_144
SAMPLE_LINES = 400
GROUP_CHARACTERS = 131_072  # some thousand lines, few enough to stay in a processor's near memory
LONGEST_LINE = 100_000

# The first bytes of files that people hand over by mistake, and what to say.
_OTHER_KINDS = (
    (b"PK\x03\x04", "This is a spreadsheet workbook or a zip file. Save the sheet as CSV and try that."),
    (b"\xd0\xcf\x11\xe0", "This is an old spreadsheet workbook. Save the sheet as CSV and try that."),
    (b"\x89PNG", "This is a picture, not a table of readings."),
    (b"\xff\xd8\xff", "This is a picture, not a table of readings."),
    (b"%PDF", "This is a PDF document, not a table of readings. Export the readings as CSV."),
    (b"SQLite format 3", "This is a database file, not a table of readings. Export the readings as CSV."),
    (b"\x1f\x8b", "This file is compressed. Unpack it first."),
)


@dataclass(frozen=True, slots=True)
class TextFile:
    """A text file, how it is encoded, and its first lines without their ends."""

    path: Path
    encoding: str
    size: int
    first_lines: tuple[str, ...]


def look(path: Path) -> TextFile:
    """Find out how a file is encoded and take its first lines.

    Raises
    ------
    NotReadings
        The file is empty, or is no text.
    OSError
        The file cannot be read.
    """
    with path.open("rb") as file:
        sample = file.read(SAMPLE_BYTES)
        size = file.seek(0, 2)
    if not sample.strip(b"\x00\r\n\t \xef\xbb\xbf"):
        raise NotReadings("The file is empty." if not sample else "The file holds nothing but blanks.")
    for start, say in _OTHER_KINDS:
        if sample.startswith(start):
            raise NotReadings(say)
    encoding = encoding_of(sample, whole=size <= SAMPLE_BYTES)
    text = sample.decode(encoding, errors="replace")
    strange = sum(1 for letter in text if letter < " " and letter not in "\t\r\n\x00\x1a\x0c")
    if strange > len(text) / 50:
        raise NotReadings("This is no text file, so no table of readings.")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if size > SAMPLE_BYTES and len(lines) > 1:
        lines.pop()  # it was cut in the middle
    return TextFile(path, encoding, size, tuple(lines[:SAMPLE_LINES]))


def encoding_of(sample: bytes, *, whole: bool) -> str:
    """Return the encoding of text by its mark, its zero bytes, or by trying UTF-8; else Windows Latin."""
    for mark, name in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF32_LE, "utf-32"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if sample.startswith(mark):
            return name
    pairs = max(len(sample) // 2, 1)
    if sample[1::2].count(0) > pairs * 0.4:
        return "utf-16-le"
    if sample[0::2].count(0) > pairs * 0.4:
        return "utf-16-be"
    try:
        codecs.getincrementaldecoder("utf-8")().decode(sample, final=whole)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def line_groups(text: TextFile, size: int = GROUP_CHARACTERS) -> Iterator[tuple[list[str], float]]:
    """Yield the file's lines in groups, without their ends, and the share of the file read so far.

    A byte that does not fit the encoding becomes the replacement sign and costs its cell, not the file.

    Raises
    ------
    NotReadings
        A line is so long that this is no table.
    """
    with text.path.open("rb") as raw, io.TextIOWrapper(raw, encoding=text.encoding, errors="replace") as file:
        rest = ""
        while piece := file.read(size):
            lines = (rest + piece).split("\n")
            rest = lines.pop()
            if len(rest) > LONGEST_LINE:
                raise NotReadings("The file has a line that never ends, so it is no table of readings.")
            if lines:
                yield lines, min(1.0, raw.tell() / max(text.size, 1))
        if rest:
            yield [rest], 1.0
