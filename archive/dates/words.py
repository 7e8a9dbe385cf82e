"""Saying an EDTF date in plain English words (pure)."""

from __future__ import annotations

import re

from archive.dates.edtf import SUB_YEAR
from archive.dates.phrases import vocabulary

_CODES = {
    **dict.fromkeys((21, 25, 29), "spring"), **dict.fromkeys((22, 26, 30), "summer"),
    **dict.fromkeys((23, 27, 31), "autumn"), **dict.fromkeys((24, 28, 32), "winter"),
    33: "the first quarter of", 34: "the second quarter of", 35: "the third quarter of", 36: "the last quarter of",
    37: "the first third of", 38: "the second third of", 39: "the last third of",
    40: "the first half of", 41: "the second half of",
}  # fmt: skip
_ORDINAL_ENDS = {1: "st", 2: "nd", 3: "rd"}


def in_words(edtf: str) -> str:
    """Return a valid EDTF string as a person would say it."""
    if edtf[:1] in "[{":
        members = [_member(each) for each in edtf[1:-1].split(",")]
        joint = "or" if edtf[0] == "[" else "and"
        if len(members) == 1:
            return members[0]
        return f"{', '.join(members[:-1])} {joint} {members[-1]}"
    return _interval(edtf) if "/" in edtf else _date(edtf)


def _member(text: str) -> str:
    return _interval(text.replace("..", "/", 1) if ".." in text else text) if ".." in text else _date(text)


def _interval(text: str) -> str:
    start, _, end = text.partition("/")
    if start in ("", ".."):
        return f"up to {_date(end)}" + (
            ", beginning not known" if start == "" and "/" in text and text[0] == "/" else ""
        )
    if end in ("", ".."):
        return f"from {_date(start)} on"
    return f"from {_date(start)} to {_date(end)}"


def _date(text: str) -> str:
    marks = set(text) & set("?~%")
    plain = re.sub(r"[?~%]", "", text)
    said = _plain(plain)
    if "%" in marks or {"?", "~"} <= marks:
        return f"perhaps about {said}"
    if "~" in marks:
        return f"about {said}"
    return f"perhaps {said}" if "?" in marks else said


def _plain(text: str) -> str:
    if "T" in text:
        day, _, time = text.partition("T")
        return f"{_plain(day)}, {time[:5]}"
    if text.startswith("Y") or "S" in text:
        return f"the year {text.lstrip('Y')}"
    match = re.fullmatch(r"(-?)([\dX]{4})(?:-([\dX]{2}))?(?:-([\dX]{2}))?", text)
    if match is None:
        return text
    year = _year(match[1], match[2])
    month, day = match[3], match[4]
    if month is None:
        return year
    if month.isdigit() and int(month) > 12:
        ends_next_year = SUB_YEAR[int(month)][1] > 12
        following = f"–{(int(match[2]) + 1) % 100:02d}".replace("–00", "/00") if ends_next_year else ""
        return f"{_CODES[int(month)]} {year}{following}"
    if "X" in month:
        return f"a month of {year} that is not known" if month == "XX" else f"{year}, month {month}"
    name = str(vocabulary()["months"][int(month) - 1]).capitalize()
    if day is None:
        return f"{name} {year}"
    if day == "XX":
        return f"a day in {name} {year}"
    return f"{int(day) if day.isdigit() else day} {name} {year}"


def _year(sign: str, digits: str) -> str:
    if sign:
        return f"the year −{digits.lstrip('0') or '0'}"
    if "X" not in digits:
        return str(int(digits)) if int(digits) >= 1000 else f"the year {int(digits)}"
    if re.fullmatch(r"\d{3}X", digits):
        return f"the {digits[:3]}0s"
    if re.fullmatch(r"\d{2}XX", digits):
        number = int(digits[:2]) + 1
        end = "th" if 10 <= number % 100 <= 20 else _ORDINAL_ENDS.get(number % 10, "th")
        return f"the {number}{end} century"
    return f"a year like {digits}"
