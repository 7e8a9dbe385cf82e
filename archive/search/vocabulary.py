"""The words that stand in the index, kept in this process, and those near a word that was mistyped."""

from __future__ import annotations

import re
from collections.abc import Iterable
from threading import Lock

from django.db import connection

WORD = re.compile(r"[^\W_]+")
SHORT = 7  # letters up to which one slip is thought of, above it two
_SHORTEST, _LONGEST = 3, 40
NEAR_AT_MOST = 24

_lock = Lock()
_generation = 0
_by_length: dict[int, set[str]] | None = None


def words_of(folded: str) -> list[str]:
    """Return the words of folded text as the index takes it apart."""
    return WORD.findall(folded)


def slips_allowed(word: str) -> int:
    """Return how many slips of the keyboard a word is forgiven."""
    return 1 if len(word) <= SHORT else 2


def forget() -> None:
    """Read the words anew when they are next asked for."""
    global _by_length
    with _lock:
        _by_length = None


def generation() -> int:
    """Return a number that every change of the archive makes another, for what is kept between pages."""
    return _generation


def note_change() -> None:
    """Say that something has changed."""
    global _generation
    _generation += 1


def add(texts: Iterable[str]) -> None:
    """Learn the words of new entries. A word that has gone stays until the next start: it finds nothing any more."""
    if _by_length is None:
        return
    with _lock:
        if _by_length is not None:
            _put(_by_length, (word for text in texts for word in WORD.findall(text)))


def near(word: str) -> dict[str, int]:
    """Return words of the index near a word, with how many slips lie between, the nearest first.

    A slip is a letter too many, too few, wrong, or two neighbours swapped (optimal string alignment).
    """
    if not _SHORTEST <= len(word) <= _LONGEST:
        return {}
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    slips = slips_allowed(word)
    vocabulary = _loaded()
    found: list[tuple[int, str]] = []
    for length in range(max(2, len(word) - slips), len(word) + slips + 1):
        among = vocabulary.get(length)
        if among:
            hits = process.extract(word, tuple(among), scorer=OSA.distance, score_cutoff=slips, limit=None)
            found += [(int(distance), each) for each, distance, _ in hits if distance]
    # A first letter is seldom wrong, so that such words stand first among equals.
    found.sort(key=lambda each: (each[0], each[1][0] != word[0], each[1]))
    return {each: distance for distance, each in found[:NEAR_AT_MOST]}


def distance(word: str, other: str) -> int:
    """Return how many slips lie between two words, at most one more than are forgiven."""
    from rapidfuzz.distance import OSA

    return int(OSA.distance(word, other, score_cutoff=slips_allowed(word)))


def _put(store: dict[int, set[str]], words: Iterable[str]) -> None:
    for word in words:
        if 2 <= len(word) <= _LONGEST + 2 and not word.isdigit():
            store.setdefault(len(word), set()).add(word)


def _loaded() -> dict[int, set[str]]:
    global _by_length
    with _lock:
        if _by_length is None:
            store: dict[int, set[str]] = {}
            with connection.cursor() as cursor:
                cursor.execute(
                    "CREATE VIRTUAL TABLE IF NOT EXISTS temp.archive_searchvocabulary "
                    "USING fts5vocab('main', 'archive_searchtext', 'row')"
                )
                cursor.execute("SELECT term FROM temp.archive_searchvocabulary")
                _put(store, (term for (term,) in cursor.fetchall()))
            _by_length = store
        return _by_length
