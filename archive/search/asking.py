"""How a typed question is understood: a number, words, and a time."""

from __future__ import annotations

import re
from dataclasses import dataclass

from archive.dates import DateReading, read_date
from archive.dates.words import in_words
from archive.folding import fold
from archive.numbers import NumberReading, read_typed
from archive.preferences.models import Preferences
from archive.search.vocabulary import words_of

LONGEST = 200
WORDS_AT_MOST = 12
_DATE_WORDS = 6
_YEAR = re.compile(r"(?<![0-9])(?:1[0-9]{3}|20[0-9]{2})(?![0-9])|[0-9]{3}0.?s\b|centur", re.IGNORECASE)
_BARE_YEAR = re.compile(r"(?:1[0-9]{3}|20[0-9]{2})")
_YEARS = re.compile(r"(1[0-9]{3}|20[0-9]{2})\s?[-–—/]\s?([0-9]{2}|1[0-9]{3}|20[0-9]{2})")
_LOOKS_LIKE_NUMBER = re.compile(r"[0-9]{4,}[\s\-‐‑‒–—_.]?[0-9Xx]")


@dataclass(frozen=True)
class Span:
    """A time: first and last day as ISO text, open ends as None, and the words for it."""

    earliest: str | None
    latest: str | None
    words: str


@dataclass(frozen=True)
class Question:
    """What somebody typed, and what we make of it."""

    typed: str
    words: tuple[tuple[str, ...], ...] = ()  # each typed word as the pieces that the index takes it apart into
    span: Span | None = None
    span_typed: str = ""  # the words that say the time
    year: str = ""  # the time is a bare year, which may also stand in a text
    number: NumberReading | None = None
    cut: bool = False  # more was typed than is looked at

    @property
    def is_empty(self) -> bool:
        return not self.words and self.span is None and not self.year


def ask(typed: str, kept: Preferences) -> Question:
    """Understand a typed question; any text is one."""
    tidy = " ".join(typed[: LONGEST + 1].replace("\0", " ").split())
    said = tidy[:LONGEST].split()
    cut = len(tidy) > LONGEST or len(said) > WORDS_AT_MOST
    said = said[:WORDS_AT_MOST]
    number = _number(" ".join(said))
    span, rest, meant = (None, said, "") if number else _time_in(said, kept)
    bare = meant if _BARE_YEAR.fullmatch(meant) else ""
    words = tuple(pieces for pieces in (tuple(words_of(fold(word))) for word in rest) if pieces)
    return Question(" ".join(said), words, span, meant, bare, number, cut)


def _number(text: str) -> NumberReading | None:
    """Read a number of ours, right or slightly wrong; None when the text is something else."""
    head, _, piece = text.partition("/")
    if piece and not piece.strip().isdecimal():
        return None
    if not _LOOKS_LIKE_NUMBER.fullmatch(head.strip()):
        return None
    return read_typed(head)


def read_span(text: str, kept: Preferences) -> Span | None:
    """Read a time such as ``1930s``, ``summer 1931`` or ``1914-18``; None when there is none in the text."""
    text = text.strip()
    if years := _YEARS.fullmatch(text):
        first, last = years[1], years[2] if len(years[2]) == 4 else years[1][:2] + years[2]
        if int(first) < int(last):
            return Span(f"{first}-01-01", f"{last}-12-31", f"{first} to {last}")
    read: DateReading = read_date(text, day_first=kept.day_first(), southern_seasons=kept.southern)
    if read.edtf is None or (read.earliest is None and read.latest is None):
        return None
    return Span(read.earliest, read.latest, read.words or in_words(read.edtf))


def _time_in(said: list[str], kept: Preferences) -> tuple[Span | None, list[str], str]:
    """Find the longest run of words that says a time; return it, the other words, and that run."""
    if not _YEAR.search(" ".join(said)):
        return None, said, ""
    for length in range(min(_DATE_WORDS, len(said)), 0, -1):
        for start in range(len(said) - length + 1):
            run = " ".join(said[start : start + length])
            if not _YEAR.search(run):
                continue
            span = read_span(run, kept)
            if span is not None:
                return span, said[:start] + said[start + length :], run
    return None, said, ""
