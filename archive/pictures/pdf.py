"""Pages of a PDF as pictures, drawn in a process of its own with limits of time and memory (pure; no Django).

PDFium is not safe among threads, and a page can be made to take for ever or to bring it down; a child can be ended.
"""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from archive.pictures.decoding import PictureRefused
from archive.pictures.limits import limit

MIME = "application/pdf"
_ROOT = Path(__file__).resolve().parents[2]
_SENTENCES = {
    "locked": "It is a PDF locked with a password. Save a copy without the password, and add that one.",
    "broken": "It is a PDF that is broken or was cut off, so that its pages cannot be drawn. Copy it again.",
    "no-pages": "It is a PDF without pages.",
}
_TOO_SLOW = "Drawing its pages took too long. Split it into parts, or save its pages as pictures and add those."
_TOO_LARGE = "Its pages are too large or too strange to draw. Save them as pictures and add those."


@dataclass(frozen=True)
class Page:
    """A page that was drawn: its number from 1, its size in pixels at its largest, and its fingerprint."""

    page: int
    width: int
    height: int
    fingerprint: str


def is_pdf(path: Path) -> bool:
    """Say whether a file begins as a PDF does (ISO 32000-2, 7.5.2; readers allow the sign in the first 1024 bytes)."""
    with path.open("rb") as file:
        return b"%PDF-" in file.read(1024)


def page_folder(folder: Path, page: int) -> Path:
    """Return where the sizes of one page are kept; page 0 is a file that is a picture itself."""
    return folder / f"page-{page}" if page else folder


def draw_pages(source: Path, folder: Path, *, large: int = 0) -> list[Page]:
    """Draw every page of a PDF in three sizes; with `large`, that one page in the size for looking closely.

    Raises:
        PictureRefused: it is locked, broken, has too many pages, or takes too long or too much memory.
    """
    seconds = limit("pdf_seconds")
    command = [sys.executable, "-m", "archive.pictures.pdf_child", str(source.absolute()), str(folder.absolute())]
    try:
        child = subprocess.run(  # noqa: S603 - our own command
            [*command, str(large)], capture_output=True, timeout=seconds, cwd=_ROOT, check=False
        )
    except subprocess.TimeoutExpired:
        raise PictureRefused("too-slow", _TOO_SLOW) from None
    try:
        answer = json.loads(child.stdout)
    except ValueError:
        # Ended by its limits, or by a fault inside PDFium.
        raise PictureRefused("too-large", _TOO_LARGE) from None
    if code := answer.get("refused"):
        raise PictureRefused(code, _SENTENCES.get(code) or _too_many(answer.get("pages", 0)))
    return [Page(**each) for each in answer["pages"]]


def _too_many(pages: int) -> str:
    return f"It has {pages} pages; up to {limit('pdf_pages_at_most')} are taken in from one file. Split it into parts."
