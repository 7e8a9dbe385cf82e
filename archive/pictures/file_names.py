"""Names of picture files that tell the thing, the piece, the side and the version (pure; no Django)."""

from __future__ import annotations

import re

from archive.folding import fold
from archive.numbers import number_of

LONGEST = 35  # signs before the extension, so that the name fits old file systems and burned discs
_SIDES = {"front": "f", "back": "b", None: ""}


def file_name(serial: int, *, piece: int, of: int, side: str | None, version: str, words: str, extension: str) -> str:
    """Return ``NUMBER_PIECE[side]_VERSION[_words].ext``, such as ``0214-6_001f_keep_kitchen-window.tif``.

    ``piece`` is padded to the width of ``of``, at least three signs; the words are folded to ``[a-z0-9-]`` and cut
    at a word, so that the whole is at most 35 signs before the extension.
    """
    width = max(3, len(str(of)))
    stem = f"{number_of(serial)}_{piece:0{width}d}{_SIDES[side]}_{version}"
    tail = _cut(re.sub(r"[^a-z0-9]+", "-", fold(words)).strip("-"), LONGEST - len(stem) - 1)
    return f"{stem}_{tail}.{extension}" if tail else f"{stem}.{extension}"


def _cut(words: str, room: int) -> str:
    """Cut words joined by hyphens to at most `room` signs, at a word; one overlong first word is cut within."""
    if len(words) <= room:
        return words
    if room <= 0:
        return ""
    kept = words[: room + 1].rpartition("-")[0]
    return kept or words[:room]
