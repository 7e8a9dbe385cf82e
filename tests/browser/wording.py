"""What no page may say: codes, dates in a computer's order, many of one, stray signs, figures finer than measured."""

from __future__ import annotations

import re

from archive.kinds import kinds, states

_ONE = (
    "things pictures people places stories boxes rooms pieces groups lots jobs days weeks months years hours minutes "
    "readings findings traps labels rows files owners names persons parts sheets showings shelves times pairs"
)
_RULES = {
    "a date in a computer’s order": re.compile(r"\b\d{4}-\d\d-\d\d\b"),
    "one of many": re.compile(rf"(?<![\d.,–-])\b1 (?:{'|'.join(_ONE.split())})\b"),
    "a word of the machine": re.compile(
        r"(?m)(?:^|: |became )(?:None|True|False)(?:$| became)|\b(?:undefined|NaN)\b|\{\{|&(?:amp|lt|gt|quot|#\d+);"
    ),
    "a code": re.compile(r"(?<![\w/])[a-z]{2,}_[a-z]{2,}\b(?!/)"),
    "a stray sign": re.compile(r"[\w)”] [,;](?=\s)|\w \.(?=\s|$)|,,|;;|\(\)|,\.|: *\."),
    "a sentence that begins small": re.compile(r"(?<!\d)(?<![A-Z])(?<!\b[a-z])\.\s(?:is|does|has|it|the|a|and|at)\s"),
    "a figure finer than it was measured": re.compile(r"\d\.\d{2,} ?(?:°C|%)"),
}


def _codes() -> re.Pattern[str]:
    """Codes of kinds and states that no reader would take for words: those with a hyphen."""
    codes = {each.code for each in (*kinds(), *states()) if "-" in each.code}
    names = " ".join(each.name.casefold() for each in (*kinds(), *states()))
    return re.compile(r"(?<![\w-])(?:" + "|".join(sorted(code for code in codes if code not in names)) + r")(?![\w-])")


def wording(text: str) -> list[str]:
    """Return what is wrong with the words of a page as they are read, each with the signs around it."""
    found = []
    for name, rule in {**_RULES, "a code of a kind or state": _codes()}.items():
        for match in list(rule.finditer(text))[:2]:
            around = text[max(0, match.start() - 40) : match.end() + 25].replace("\n", " | ")
            found.append(f"{name}: … {around} …")
    return found
