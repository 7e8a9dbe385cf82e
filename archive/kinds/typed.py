"""Kinds and states as a person types them: by name or code, with near ones where none fits (pure; no Django)."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from archive.folding import fold
from archive.kinds import kinds, states

NEAR_AT_MOST = 5
# How alike a near word must be, 0 to 1: our default, tried on slips of one or two letters.
_ALIKE = 0.65


@dataclass(frozen=True)
class CodeReading:
    """How a typed word was read: its code, or the names of near ones where it fits none or several."""

    typed: str
    code: str | None
    near: tuple[str, ...] = ()


def plain(text: str) -> str:
    """Return text in small plain letters with one space between words, for comparing what people typed."""
    return re.sub(r"[^a-z0-9]+", " ", fold(text)).strip() or " ".join(fold(text).split())


def read_kind(typed: str) -> CodeReading:
    """Read a kind typed as its name or its code; case, accents and hyphens make no difference."""
    return _read(typed, _kinds())


def read_state(typed: str) -> CodeReading:
    """Read a state typed as its name or its code."""
    return _read(typed, _states())


def read_word(typed: str, choices: Iterable[tuple[str, str]]) -> CodeReading:
    """Read one of a few choices, given as pairs of value and label, typed as its value or its label."""
    return _read(typed, _Words.of(choices))


@dataclass(frozen=True)
class _Words:
    by_word: dict[str, str]
    names: dict[str, str]  # plain name → name as shown

    @classmethod
    def of(cls, rows: Iterable[tuple[str, str]]) -> _Words:
        listed = [(str(code), str(name)) for code, name in rows]
        by_word = {plain(code): code for code, _ in listed} | {plain(name): code for code, name in listed}
        return cls(by_word, {plain(name): name for _, name in listed})


@cache
def _kinds() -> _Words:
    return _Words.of((each.code, each.name) for each in kinds())


@cache
def _states() -> _Words:
    return _Words.of((each.code, each.name) for each in states())


def _read(typed: str, words: _Words) -> CodeReading:
    wanted = plain(typed)
    for form in (wanted, wanted.removesuffix("s"), wanted.removesuffix("es")):
        if form in words.by_word:
            return CodeReading(typed, words.by_word[form])
    return CodeReading(typed, None, _near(wanted, words))


def _near(wanted: str, words: _Words) -> tuple[str, ...]:
    """Return names that hold every typed word, as the beginning of a word, then names that are spelt alike."""
    if not wanted:
        return ()
    parts = wanted.split()
    found = [
        shown
        for name, shown in words.names.items()
        if all(any(word.startswith(part) for word in name.split()) for part in parts)
    ]
    alike = difflib.get_close_matches(wanted, words.by_word, n=NEAR_AT_MOST, cutoff=_ALIKE)
    shown_of = {words.by_word[name]: shown for name, shown in words.names.items()}
    found += [shown_of[words.by_word[word]] for word in alike]
    if not found:  # one word of a name may be spelt alike
        single = {word for name in words.names for word in name.split() if len(word) > 3}
        for word in difflib.get_close_matches(wanted, single, n=2, cutoff=_ALIKE):
            found += [shown for name, shown in words.names.items() if word in name.split()]
    return tuple(dict.fromkeys(found))[:NEAR_AT_MOST]
