"""Arabic letters in the forms they take inside a word, for a PDF that draws sign by sign (pure).

The forms are those of Unicode's block Arabic Presentation Forms-B; which letters join comes from the same names.
"""

from __future__ import annotations

import unicodedata
from functools import cache


@cache
def _forms() -> dict[str, dict[str, str]]:
    """Return letter → its isolated, final, initial and medial forms, read from the Unicode database."""
    table: dict[str, dict[str, str]] = {}
    for code in range(0xFE80, 0xFEF5):
        kind, _, letter = unicodedata.decomposition(chr(code)).partition(" ")
        if kind and " " not in letter:
            table.setdefault(chr(int(letter, 16)), {})[kind.strip("<>")] = chr(code)
    for code in range(0xFEF5, 0xFEFD):  # lam with alef, one sign for two
        kind, _, letters = unicodedata.decomposition(chr(code)).partition(" ")
        pair = "".join(chr(int(each, 16)) for each in letters.split())
        table.setdefault(pair, {})[kind.strip("<>")] = chr(code)
    return table


def joined(text: str) -> str:
    """Return text whose Arabic letters have their joined forms; everything else stays as it is."""
    forms = _forms()
    units: list[str] = []
    for sign in text:
        if units and units[-1] + sign in forms:
            units[-1] += sign
        else:
            units.append(sign)
    out = []
    for here, unit in enumerate(units):
        own = forms.get(unit)
        if own is None:
            out.append(unit)
            continue
        before = _neighbour(units, here, -1)
        after = _neighbour(units, here, 1)
        joins_before = "initial" in forms.get(before, {}) and "final" in own
        joins_after = "initial" in own and "final" in forms.get(after, {})
        name = {(True, True): "medial", (True, False): "final", (False, True): "initial"}.get(
            (joins_before, joins_after), "isolated"
        )
        out.append(own.get(name, own.get("isolated", unit)))
    return "".join(out)


def _neighbour(units: list[str], here: int, step: int) -> str:
    """Return the next letter on one side, past marks that stand above or below."""
    there = here + step
    while 0 <= there < len(units) and unicodedata.combining(units[there][0]):
        there += step
    return units[there] if 0 <= there < len(units) else ""
