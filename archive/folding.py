"""Folding text to plain letters for searching and for file names (pure; no Django)."""

from __future__ import annotations

import unicodedata

# Letters that Unicode does not take apart, and those whose plain spelling is a pair.
_TABLE = str.maketrans(
    {
        "ß": "ss", "ẞ": "ss", "ł": "l", "Ł": "l", "ø": "o", "Ø": "o", "æ": "ae", "Æ": "ae", "œ": "oe", "Œ": "oe",
        "đ": "d", "Đ": "d", "ð": "d", "Ð": "d", "þ": "th", "Þ": "th", "ı": "i", "ħ": "h", "Ħ": "h", "ŧ": "t",
        "Ŧ": "t", "ŋ": "n", "Ŋ": "n", "ĸ": "k", "ŉ": "n", "ſ": "s", "’": "'", "‘": "'", "“": '"', "”": '"',
    }
)  # fmt: skip


def fold(text: str) -> str:
    """Return text in small plain letters: no accents, ligatures taken apart (``Łódź`` → ``lodz``)."""
    taken_apart = unicodedata.normalize("NFKD", text.translate(_TABLE))
    return "".join(sign for sign in taken_apart if not unicodedata.combining(sign)).casefold()
