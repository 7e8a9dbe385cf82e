"""What is made from originals for looking at: which file shows a picture at a size, made anew where it is missing."""

from __future__ import annotations

import shutil
import threading
from dataclasses import dataclass
from pathlib import Path

from archive.keeping import media_store
from archive.pictures import pdf
from archive.pictures.decoding import inspect
from archive.pictures.thumbnails import LARGE, SIZES, fingerprint, make_large, make_sizes, size_path

ALL_SIZES = (*SIZES, LARGE)
# Twenty thumbnails of one PDF asked for at once draw it once.
_making = threading.Lock()


@dataclass(frozen=True)
class Seen:
    """One picture that a file holds: its own, or a page of a PDF (``page`` from 1)."""

    page: int
    mime: str
    width: int
    height: int
    taken: str
    fingerprint: str
    frames: int


def take_apart(source: Path, sha256: str, name: str) -> list[Seen]:
    """Look at a file, decode all of it and make its sizes. Nothing is left behind when it is refused.

    Raises:
        PictureRefused: it is no picture, broken, too large, or a PDF that cannot be drawn.
    """
    folder = media_store.derived_folder(sha256)
    try:
        if pdf.is_pdf(source):
            pages = pdf.draw_pages(source, folder)
            return [Seen(p.page, pdf.MIME, p.width, p.height, "", p.fingerprint, len(pages)) for p in pages]
        seen = inspect(source, name=name, decode=False)
        sizes = make_sizes(source, folder)
    except BaseException:
        if not media_store.original_path(sha256).is_file():
            shutil.rmtree(folder, ignore_errors=True)
        raise
    print_of_it = f"{fingerprint(sizes[min(sizes)]):016x}"
    return [Seen(0, seen.mime, seen.width, seen.height, seen.taken, print_of_it, seen.frames)]


def size_file(sha256: str, page: int, size: int, longest: int) -> Path:
    """Return the file that shows a picture at a size, made now where the folder was emptied.

    The large size of a picture that is no larger than the one below it is that one.

    Raises:
        FileNotFoundError: the original is gone.
        PictureRefused: the original can no longer be decoded.
    """
    if size == LARGE and longest <= SIZES[-1]:
        size = SIZES[-1]
    folder = media_store.derived_folder(sha256)
    path = size_path(pdf.page_folder(folder, page), size)
    if _whole(path):
        return path
    with _making:
        if _whole(path):
            return path
        original = media_store.original_path(sha256)
        if not original.is_file():
            raise FileNotFoundError(sha256)
        if page:
            pdf.draw_pages(original, folder, large=page if size == LARGE else 0)
        elif size == LARGE:
            make_large(original, folder)
        else:
            make_sizes(original, folder)
    return path


def _whole(path: Path) -> bool:
    # A power cut may leave an empty file, since sizes are not flushed one by one.
    return path.is_file() and path.stat().st_size > 0
