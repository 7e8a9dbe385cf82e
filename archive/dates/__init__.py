"""Uncertain dates: what a person typed, as EDTF, as day bounds and in words (pure; no Django)."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field

from archive.dates.edtf import Day, NotEDTF, Span, span
from archive.dates.phrases import to_edtf
from archive.dates.words import in_words

LONGEST = 200


@dataclass(frozen=True)
class DateReading:
    """How a text was understood. Days are ISO strings; None where open, unknown or beyond four-digit years."""

    edtf: str | None
    earliest: str | None = None
    latest: str | None = None
    likely: tuple[str | None, str | None] = (None, None)
    words: str = ""
    certain: bool = False
    asked: str | None = None
    notes: tuple[str, ...] = field(default=())


def read_date(text: str, *, day_first: bool | None = None, southern_seasons: bool = False) -> DateReading:
    """Read a date as EDTF (levels 0-2) or as words.

    ``day_first`` settles 3/4/1951; without it such a text gets both readings and a question. ``southern_seasons``
    puts summer into December to February. Sources: ISO 8601-2:2019; the word table is ours.
    """
    typed = _with_our_digits(text.strip())
    if not typed:
        return DateReading(None, notes=("Nothing was typed.",))
    if len(typed) > LONGEST:
        return DateReading(None, notes=(f"A date has at most {LONGEST} signs.",))
    try:
        found = span(typed, southern=southern_seasons)
    except NotEDTF:
        return _from_words(typed, day_first, southern_seasons)
    return _reading(typed, found, _asks_about_years(typed))


def _with_our_digits(text: str) -> str:
    """Return a text with the digits of any writing (١٩٤٤) as 0 to 9, which EDTF is made of."""
    if text.isascii():
        return text
    return "".join(str(unicodedata.decimal(sign)) if sign.isdecimal() else sign for sign in text)


def _asks_about_years(edtf: str) -> str | None:
    """A month or season that could also be a range of years (``1939-41``) is asked about."""
    match = re.fullmatch(r"(\d{2})(\d{2})-(\d{2})", edtf)
    if match is None or int(match[3]) <= int(match[2]):
        return None
    return f"Read as {in_words(edtf)}. Or do you mean the years {match[1]}{match[2]} to {match[1]}{match[3]}?"


def _from_words(typed: str, day_first: bool | None, southern: bool) -> DateReading:
    orders = (True, False) if day_first is None else (day_first,)
    readings: dict[str, Span] = {}
    for order in orders:
        edtf = to_edtf(typed, day_first=order, southern=southern)
        if edtf is not None and edtf not in readings:
            try:
                readings[edtf] = span(edtf, southern=southern)
            except NotEDTF:
                continue  # a range that runs backwards, or a day that does not exist
    if not readings:
        return DateReading(
            None,
            notes=("No date was found in this. A year, “about 1930”, “summer 1954” or “12 May 1910” can be read.",),
        )
    if len(readings) == 1:
        ((edtf, found),) = readings.items()
        return _reading(edtf, found, None)
    both = sorted(readings, key=lambda each: (readings[each].earliest or (0, 0, 0), readings[each].latest or (0, 0, 0)))
    edtf = f"[{','.join(_as_members(each) for each in both)}]"
    asked = f"Do you mean {' or '.join(in_words(each) for each in both)}?"
    try:
        found = span(edtf, southern=southern)
    except NotEDTF:
        # Two open ranges cannot stand in one set; the wider of them spans both.
        edtf = both[0] if both[0].endswith("..") else both[-1]
        found = readings[edtf]
    return _reading(edtf, found, asked)


def _as_members(edtf: str) -> str:
    if edtf.startswith("["):
        return edtf[1:-1]
    start, slash, end = edtf.partition("/")
    return f"{start.removeprefix('..')}..{end.removeprefix('..')}" if slash else edtf


def _reading(edtf: str, found: Span, asked: str | None) -> DateReading:
    notes = []
    days = (found.earliest, found.latest, found.likely_earliest, found.likely_latest)
    if any(day is not None and abs(day[0]) > 9999 for day in (found.earliest, found.latest)):
        notes.append("Years beyond four digits have no day here.")
    iso = [_iso(day) for day in days]
    return DateReading(
        edtf,
        iso[0],
        iso[1],
        (iso[2], iso[3]),
        in_words(edtf),
        found.certain and asked is None,
        asked,
        tuple(notes),
    )


def _iso(day: Day | None) -> str | None:
    if day is None or abs(day[0]) > 9999:
        return None
    sign = "-" if day[0] < 0 else ""
    return f"{sign}{abs(day[0]):04d}-{day[1]:02d}-{day[2]:02d}"
