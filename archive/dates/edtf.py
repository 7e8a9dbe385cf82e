"""Reading EDTF (ISO 8601-2:2019; Library of Congress, 4 February 2019), levels 0 to 2, into day bounds (pure).

A day is a triple (year, month, day) of the proleptic Gregorian calendar with a year 0, so that years before 1 and
beyond four digits need no calendar library. Bounds ignore the words about and uncertain.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

Day = tuple[int, int, int]
ABOUT_YEARS = 5  # how far "about" reaches on each side: our default

_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_QUALIFIER = "?~%"
_TIME = re.compile(
    r"([01]\d|2[0-3]):[0-5]\d:[0-5]\d(Z|[+-](0\d|1[0-4])(:[0-5]\d)?)?|24:00:00(Z|[+-](0\d|1[0-4])(:[0-5]\d)?)?"
)
_LONG_YEAR = re.compile(r"Y(?P<year>-?[1-9]\d*)(E(?P<power>[1-9]\d?))?(S(?P<digits>[1-9]\d*))?")
_FOUR_YEAR = re.compile(r"(?P<year>-?\d{4})S(?P<digits>[1-9]\d*)")
_PART = r"[?~%]?{}[?~%]?"
_DATE = re.compile(
    r"(?P<yq>[?~%]?)(?P<year>-?[\dX]{4})(?P<yq2>[?~%]?)"
    r"(?:-(?P<mq>[?~%]?)(?P<month>[\dX]{2})(?P<mq2>[?~%]?)"
    r"(?:-(?P<dq>[?~%]?)(?P<day>[\dX]{2})(?P<dq2>[?~%]?))?)?"
)
# First and last month of the codes 21 to 41; a last month of 14 is February of the next year.
SUB_YEAR: dict[int, tuple[int, int]] = {
    21: (3, 5), 22: (6, 8), 23: (9, 11), 24: (12, 14),
    25: (3, 5), 26: (6, 8), 27: (9, 11), 28: (12, 14),
    29: (9, 11), 30: (12, 14), 31: (3, 5), 32: (6, 8),
    33: (1, 3), 34: (4, 6), 35: (7, 9), 36: (10, 12),
    37: (1, 4), 38: (5, 8), 39: (9, 12), 40: (1, 6), 41: (7, 12),
}  # fmt: skip
_SOUTHERN = {21: 29, 22: 30, 23: 31, 24: 32}


class NotEDTF(ValueError):
    """The text is not EDTF, or names a day that does not exist."""


@dataclass(frozen=True)
class Span:
    """The days a date may lie in; None is an open or unknown end. ``likely`` is widened by "about"."""

    earliest: Day | None
    latest: Day | None
    likely_earliest: Day | None
    likely_latest: Day | None
    certain: bool  # neither about nor maybe


def is_leap(year: int) -> bool:
    """Say whether a year has 29 February."""
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


def month_length(year: int, month: int) -> int:
    """Return the number of days of a month."""
    return 29 if month == 2 and is_leap(year) else _LENGTHS[month - 1]


def shift_years(day: Day, years: int) -> Day:
    """Move a day by whole years; 29 February becomes the 28th where there is none."""
    year = day[0] + years
    return year, day[1], min(day[2], month_length(year, day[1]))


def span(text: str, *, southern: bool = False) -> Span:
    """Return the day bounds of an EDTF string.

    ``southern`` gives the codes 21 to 24, which the standard leaves without a place, the southern months.

    Raises:
        NotEDTF: the text is not EDTF of level 0, 1 or 2.
    """
    if len(text) > 200:
        raise NotEDTF(text)
    if text[:1] in "[{" and text[-1:] == {"[": "]", "{": "}"}.get(text[:1]):
        return _set_span(text[1:-1], southern)
    if "/" in text:
        return _interval_span(text, southern)
    return _date_span(text, southern)


def _interval_span(text: str, southern: bool) -> Span:
    start, _, end = text.partition("/")
    if "/" in end or (start in ("", "..") and end in ("", "..")):
        raise NotEDTF(text)
    first = None if start in ("", "..") else _date_span(start, southern)
    last = None if end in ("", "..") else _date_span(end, southern)
    if first and last and first.earliest and last.latest and first.earliest > last.latest:
        raise NotEDTF(text)
    return Span(
        first.earliest if first else None,
        last.latest if last else None,
        first.likely_earliest if first else None,
        last.likely_latest if last else None,
        all(side.certain for side in (first, last) if side),
    )


def _set_span(inside: str, southern: bool) -> Span:
    members = inside.split(",")
    spans: list[Span] = []
    for position, member in enumerate(members):
        first, dots, last = member.partition("..")
        if not dots:
            spans.append(_date_span(member, southern))
            continue
        if ".." in last or (not first and not last):
            raise NotEDTF(inside)
        if (not first and position != 0) or (not last and position != len(members) - 1):
            raise NotEDTF(inside)
        spans.append(_interval_span(f"{first or '..'}/{last or '..'}", southern))
    return union(spans)


def union(spans: list[Span]) -> Span:
    """Return the bounds that hold all of some spans; an end that is open in one is open."""

    def low(days: list[Day | None]) -> Day | None:
        return None if None in days else min(day for day in days if day)

    def high(days: list[Day | None]) -> Day | None:
        return None if None in days else max(day for day in days if day)

    return Span(
        low([s.earliest for s in spans]),
        high([s.latest for s in spans]),
        low([s.likely_earliest for s in spans]),
        high([s.likely_latest for s in spans]),
        all(s.certain for s in spans),
    )


def _date_span(text: str, southern: bool) -> Span:
    for long_form in (_long_year, _date_time):
        found = long_form(text)
        if found is not None:
            return Span(found[0], found[1], found[0], found[1], True)
    match = _DATE.fullmatch(text)
    if match is None:
        raise NotEDTF(text)
    _check_qualifiers(match, text)
    marks = {sign for sign in text if sign in _QUALIFIER}
    earliest, latest = _bounds(match, text, southern)
    about = bool(marks & {"~", "%"})
    reach = ABOUT_YEARS if about else 0
    likely_latest = shift_years(latest, reach)
    if match["day"] is None:  # a month or season ends with its month, in a leap year on the 29th
        likely_latest = (*likely_latest[:2], month_length(*likely_latest[:2]))
    return Span(earliest, latest, shift_years(earliest, -reach), likely_latest, not marks)


def _check_qualifiers(match: re.Match[str], text: str) -> None:
    """A component carries at most one qualifier; one before the first and after the last part is one too many."""
    for before, after in (("yq", "yq2"), ("mq", "mq2"), ("dq", "dq2")):
        if match[before] and match[after]:
            raise NotEDTF(text)
    if match["year"].lstrip("-") == "0000" and match["year"].startswith("-"):
        raise NotEDTF(text)  # there is one year 0


def _bounds(match: re.Match[str], text: str, southern: bool) -> tuple[Day, Day]:
    month = match["month"]
    if month is not None and month.isdigit() and int(month) in SUB_YEAR:
        if match["day"] is not None or "X" in match["year"]:
            raise NotEDTF(text)
        year = int(match["year"])
        return sub_year_bounds(year, _SOUTHERN.get(int(month), int(month)) if southern else int(month))
    if not (_may_fit(month, 12) and _may_fit(match["day"], 31)):
        raise NotEDTF(text)  # else ten thousand years would be gone through for a day 32
    first = next(_days(match, rising=True), None)
    last = next(_days(match, rising=False), None)
    if first is None or last is None:
        raise NotEDTF(text)
    return first, last


def sub_year_bounds(year: int, code: int) -> tuple[Day, Day]:
    """Return the first and last day of a season, quarter, third or half (codes 21 to 41)."""
    low, high = SUB_YEAR[code]
    end_year, end_month = (year, high) if high <= 12 else (year + 1, high - 12)
    return (year, low, 1), (end_year, end_month, month_length(end_year, end_month))


def _days(match: re.Match[str], *, rising: bool) -> Iterator[Day]:
    """Yield the days that fit a date with unspecified digits, from its early or its late end."""
    order = 1 if rising else -1
    for year in _years(match["year"], rising):
        for month in range(1, 13)[::order]:
            if match["month"] is not None and not _fits(f"{month:02d}", match["month"]):
                continue
            length = month_length(year, month)
            for day in range(1, length + 1)[::order]:
                if match["day"] is None or _fits(f"{day:02d}", match["day"]):
                    yield year, month, day
                    if match["day"] is None:
                        break


def _years(pattern: str, rising: bool) -> Iterator[int]:
    sign, digits = (-1, pattern[1:]) if pattern.startswith("-") else (1, pattern)
    if "X" not in digits:
        yield sign * int(digits)
        return
    low, high = int(digits.replace("X", "0")), int(digits.replace("X", "9"))
    upward = rising == (sign == 1)
    for year in range(low, high + 1) if upward else range(high, low - 1, -1):
        if _fits(f"{year:04d}", digits):
            yield sign * year


def _may_fit(pattern: str | None, highest: int) -> bool:
    """Say whether any number from 1 to the highest fits two digits of which some are unspecified."""
    return pattern is None or any(_fits(f"{number:02d}", pattern) for number in range(1, highest + 1))


def _fits(digits: str, pattern: str) -> bool:
    return all(p in ("X", d) for d, p in zip(digits, pattern, strict=True))


def _date_time(text: str) -> tuple[Day, Day] | None:
    date, t, time = text.partition("T")
    if not t:
        return None
    match = _DATE.fullmatch(date)
    if match is None or not _TIME.fullmatch(time) or not re.fullmatch(r"-?\d{4}-\d{2}-\d{2}", date):
        raise NotEDTF(text)
    return _bounds(match, text, southern=False)


def _long_year(text: str) -> tuple[Day, Day] | None:
    match = _LONG_YEAR.fullmatch(text) or _FOUR_YEAR.fullmatch(text)
    if match is None:
        return None
    groups = match.groupdict()
    digits = groups["year"].lstrip("-")
    if text.startswith("Y") and not groups.get("power") and len(digits) <= 4:
        raise NotEDTF(text)  # the letter Y is for years beyond four digits
    year = int(groups["year"]) * 10 ** int(groups.get("power") or 0)
    significant = groups.get("digits")
    low = high = year
    if significant:
        free = len(str(abs(year))) if text.startswith("Y") else 4
        free -= int(significant)
        if free < 0:
            raise NotEDTF(text)
        floor = abs(year) // 10**free * 10**free
        low, high = floor, floor + 10**free - 1
        if year < 0:
            low, high = -high, -low
    return (low, 1, 1), (high, 12, 31)
