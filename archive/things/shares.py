"""Parts of an owner in words and figures, and whether they make a whole (pure; no Django)."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from fractions import Fraction

_WHOLE = {"", "all", "all of it", "the whole", "whole", "everything"}
_COUNTS = {"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8}
_PARTS = {
    "half": 2, "third": 3, "quarter": 4, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7, "eighth": 8, "ninth": 9,
    "tenth": 10, "twelfth": 12,
}  # fmt: skip
_FRACTION = re.compile(r"(\d{1,6})\s*/\s*(\d{1,6})")
_PER_CENT = re.compile(r"(\d{1,3}(?:[.,]\d{1,4})?)\s*(?:%|per ?cent)")


def read_part(typed: str) -> Fraction | None:
    """Read a part such as ``1/2``, ``½``, ``two thirds`` or ``25 %``; None when it cannot be read as one."""
    text = unicodedata.normalize("NFKC", typed).replace("\u2044", "/").strip().casefold()
    text = text.removeprefix("the ").removesuffix(" of it").strip()
    if text in _WHOLE:
        return Fraction(1)
    if found := _FRACTION.fullmatch(text):
        return Fraction(int(found[1]), int(found[2])) if int(found[2]) else None
    if found := _PER_CENT.fullmatch(text):
        return Fraction(found[1].replace(",", ".")) / 100
    words = text.replace("-", " ").split()
    if not 1 <= len(words) <= 2:
        return None
    part = words[-1].removesuffix("s").replace("halve", "half")
    count = _COUNTS.get(words[0]) if len(words) == 2 else 1
    return Fraction(count, _PARTS[part]) if count and part in _PARTS else None


def trouble_with(parts: Iterable[str]) -> str:
    """Return a sentence when typed parts do not make one whole, or nothing.

    Several owners without any part are taken to own it together; a part that cannot be read is not counted.
    """
    typed = [part.strip() for part in parts]
    if not any(typed):
        return ""
    empty, read = typed.count(""), [read_part(part) for part in typed if part]
    if None in read:
        return ""
    total = sum((part for part in read if part is not None), Fraction(0))
    if total > 1 or (total == 1 and empty):
        more = " before those that are left empty" if total == 1 else ""
        return f"The parts add up to {_words(total)}{more}. Together they should make one whole."
    if total < 1 and not empty:
        return f"The parts add up to {_words(total)}. Whose is the rest?"
    return ""


def _words(total: Fraction) -> str:
    return str(total) if total != 1 else "one whole"
