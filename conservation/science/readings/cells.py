"""Single cells: numbers, dates and times of day. Each kind of cell is read once and remembered.

A logger repeats itself: ten years hold some thousand different temperatures, 1,440 times of day and 3,650 dates.
Looking a cell up in a dictionary that reads only what it has not seen is faster than reading every cell.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from conservation.science.readings.model import Unit
from conservation.science.readings.words import fold, month_numbers, unit_of, words, zone_hours

NAN = math.nan
_MOST_REMEMBERED = 200_000

# --- numbers ---

_NUMBER = re.compile(
    r"(?P<about>[^\W\d_]+\.?|~|≈|±)?\s*"
    r"(?P<first>[+\-−]?(?:\d+(?:[.,]\d*)?|[.,]\d+))"
    r"(?:\s*(?:-|–|—|\.\.|to|bis)\s*(?P<second>\d+(?:[.,]\d+)?))?"
    r"\s*(?P<unit>%\s*(?:r\.?\s*[hfvl]\.?)?|(?:%?\s*rh)|[°º˚\ufffd]?\s*[cfCF]?(?:elsius)?|â°[cf]|deg\.?\s*[cf])\s*",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Number:
    """A number as a cell holds it."""

    value: float
    unit: Unit | None
    about: bool  # "ca 48" or the middle of "50-55"


def number_of(text: str) -> Number | None:
    """Read a number with what loggers and people write around it: "20,4", "19.4 °C", "52 %RH", "ca 48", "50-55%"."""
    found = _NUMBER.fullmatch(text.strip().replace("\xa0", " ").replace("\u2009", " "))
    if not found:
        return None
    about = found["about"]
    if about and about not in "~≈±" and fold(about).rstrip(".") not in words()["about"]["words"]:
        return None
    value = _plain(found["first"])
    if found["second"]:
        value = (value + _plain(found["second"])) / 2
    return Number(value, unit_of(found["unit"].strip()), bool(about or found["second"]))


def _plain(digits: str) -> float:
    return float(digits.replace(",", ".").replace("−", "-"))


class NumberCells(dict[str, float]):
    """The numbers of one column by their text; NaN for what is none.

    The first cell that names a unit settles the unit of the column; a later cell with the other unit is converted.
    """

    def __init__(self, unit: Unit | None = None) -> None:
        super().__init__()
        self.unit = unit
        self.about = 0
        self.converted = 0

    def __missing__(self, text: str) -> float:
        if len(self) > _MOST_REMEMBERED:
            self.clear()
        try:
            value = float(text)
            if not math.isfinite(value) or "_" in text:
                value = NAN
        except ValueError:
            value = self._written(text)
        self[text] = value
        return value

    def _written(self, text: str) -> float:
        number = number_of(text)
        if number is None:
            return NAN
        self.about += number.about
        if number.unit is None:
            return number.value
        if self.unit is None:
            self.unit = number.unit
        if number.unit == self.unit:
            return number.value
        self.converted += 1
        return (number.value - 32) / 1.8 if self.unit == "C" else number.value * 1.8 + 32


# --- dates ---

_YEAR_FIRST = re.compile(r"(\d{4})[-/.\s年](\d{1,2})[-/.\s月](\d{1,2})日?")
_COMPACT = re.compile(r"((?:19|20)\d{2})(\d{2})(\d{2})")
_YEAR_LAST = re.compile(r"(\d{1,2})([-/. ])\s?(\d{1,2})\2\s?(\d{4}|\d{2})")


@dataclass(frozen=True, slots=True)
class DateParts:
    """A date as written: its three numbers in order of writing, or settled as year, month, day."""

    numbers: tuple[int, int, int]
    settled: bool  # numbers are year, month, day
    dotted: bool = False  # 03.02.2026: day first wherever dots are written
    text: str = ""


def full_year(year: int) -> int:
    """Return the year that two digits stand for: 00–69 are 2000–2069, 70–99 are 1970–1999."""
    if year >= 100:
        return year
    return year + (2000 if year < 70 else 1900)


def date_of(text: str) -> DateParts | None:
    """Read a date without deciding between day and month; None for what is none."""
    text = text.strip().rstrip(",")
    if found := _YEAR_FIRST.fullmatch(text) or _COMPACT.fullmatch(text):
        year, month, day = (int(part) for part in found.groups())
        return DateParts((year, month, day), True, text=text)
    if found := _YEAR_LAST.fullmatch(text):
        first, mark, second, year_text = found.groups()
        return DateParts((int(first), int(second), int(year_text)), False, mark == ".", text)
    return _named(text)


def _named(text: str) -> DateParts | None:
    tokens = [token for token in re.split(r"[\s,./\-]+", fold(text)) if token]
    if tokens and tokens[0] in words()["weekdays"]["words"]:
        tokens = tokens[1:]
        rest = re.sub(r"^\s*[^\W\d_]+\.?,?\s*", "", text)
        if len(tokens) == 3 and all(token.isdigit() for token in tokens):
            return date_of(rest)
    if len(tokens) == 4 and tokens[1] in ("de", "of"):
        del tokens[1]
    if len(tokens) != 3:
        return None
    month = next((month_numbers()[token] for token in tokens if token in month_numbers()), None)
    numbers = [re.sub(r"(?:st|nd|rd|th|er)$", "", token) for token in tokens if token not in month_numbers()]
    if month is None or len(numbers) != 2 or not all(number.isdigit() for number in numbers):
        return None
    first, second = numbers
    day, year = (second, first) if len(first) == 4 else (first, second)
    return DateParts((full_year(int(year)), month, int(day)), True, text=text)


class DateCells(dict[str, int]):
    """Dates by their text, as positions in `parts`; −1 for what is no date."""

    def __init__(self) -> None:
        super().__init__()
        self.parts: list[DateParts] = []

    def __missing__(self, text: str) -> int:
        if len(self) > _MOST_REMEMBERED:
            self.clear()
        # A cut in the wrong place leaves a blank at an end; such a text is no date here.
        found = date_of(text) if text == text.strip() else None
        position = -1
        if found is not None:
            position = len(self.parts)
            self.parts.append(found)
        self[text] = position
        return position


# --- times of day ---

UTC_MARK = 1e7
"""Added to a time of day that names its own offset: such a time is in UTC."""

_TIME = re.compile(
    r"(?P<hour>\d{1,2})[:.hH時](?P<minute>\d{2})(?:[:.m分](?P<second>\d{2})(?:[.,](?P<part>\d+))?)?秒?"
    r"\s*(?:uhr|hrs?|h|s)?"
    r"\s*(?P<half>[ap]\.?\s?m\.?)?"
    r"\s*(?P<zone>[+\-−]\d{2}:?\d{2}|[+\-−]\d{1,2}|[a-z]{1,4}(?:\s?[+\-−]\d{1,2}(?::?\d{2})?)?)?",
    re.IGNORECASE,
)
_TIME_COMPACT = re.compile(r"(?P<hour>\d{2})(?P<minute>\d{2})(?P<second>\d{2})?(?P<zone>Z|[+\-]\d{2}:?\d{2})?")
_TIME_HOUR = re.compile(r"(?P<hour>\d{1,2})\s*(?P<half>[ap]\.?\s?m\.?)", re.IGNORECASE)


def seconds_of_day(text: str) -> float:
    """Read a time of day in seconds, with `UTC_MARK` added where it names its offset; NaN for what is none."""
    text = text.strip()
    found = _TIME.fullmatch(text) or _TIME_COMPACT.fullmatch(text) or _TIME_HOUR.fullmatch(text)
    if not found:
        return NAN
    parts = found.groupdict()
    hour, minute, second = int(parts["hour"]), int(parts.get("minute") or 0), int(parts.get("second") or 0)
    half = (parts.get("half") or "").lower().replace(".", "").replace(" ", "")
    if half and 1 <= hour <= 12:
        hour = hour % 12 + (12 if half == "pm" else 0)
    if hour > 24 or minute > 59 or second > 60 or (hour == 24 and (minute or second)):
        return NAN
    seconds = hour * 3600 + minute * 60 + second + float("0." + (parts.get("part") or "0"))
    zone = parts.get("zone")
    if not zone:
        return seconds
    offset = _offset_s(zone)
    return NAN if offset is None else seconds - offset + UTC_MARK


def _offset_s(zone: str) -> float | None:
    letters = re.match(r"[A-Za-z]*", zone)
    name = letters.group().upper() if letters else ""
    hours = 0.0
    if name:
        if name not in zone_hours():
            return None
        hours = zone_hours()[name]
    digits = re.search(r"([+\-−])(\d{1,2}):?(\d{2})?$", zone)
    if not digits:
        return hours * 3600
    seconds = int(digits[2]) * 3600 + int(digits[3] or 0) * 60
    return hours * 3600 + (seconds if digits[1] == "+" else -seconds)


class ClockCells(dict[str, float]):
    """Times of day by their text, in seconds; NaN for what is none."""

    def __missing__(self, text: str) -> float:
        if len(self) > _MOST_REMEMBERED:
            self.clear()
        self[text] = seconds = seconds_of_day(text)
        return seconds


# --- both in one cell ---

_STAMP = re.compile(
    r"(?P<date>.*?\d.*?)[T\s,_]+(?P<time>\d{1,2}[:.hH時]\d{2}(?:\D.*)?|\d{1,2}\s?[ap]\.?m\.?|\d{4,6}Z?)"
)
_STAMP_TIME_FIRST = re.compile(
    r"(?P<time>\d{1,2}:\d{2}(?::\d{2})?(?:\s?[ap]\.?m\.?)?)[\s,]+(?P<date>\d.*)", re.IGNORECASE
)


def split_stamp(text: str) -> tuple[str, str] | None:
    """Split a date with its time of day; a date alone gets midnight. None for what is neither."""
    text = text.strip()
    if date_of(text) is not None:
        return text, "00:00"
    for pattern in (_STAMP, _STAMP_TIME_FIRST):
        found = pattern.fullmatch(text)
        if found and date_of(found["date"]) is not None and not math.isnan(seconds_of_day(found["time"])):
            return found["date"], found["time"]
    return None
