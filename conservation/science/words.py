"""Words shown to people, by list and code: the one seam for another language."""

from __future__ import annotations

import tomllib
from functools import cache

from conservation.science.sources import DATA


@cache
def words(language: str = "en") -> dict[str, dict[str, str]]:
    """Return all words of a language: list → code → words."""
    with (DATA / "words" / f"{language}.toml").open("rb") as file:
        return tomllib.load(file)


def word(which: str, code: str) -> str:
    """Return the words of one code.

    Raises:
        KeyError: there is no such list or code.
    """
    return words()[which][code]


def codes(which: str) -> tuple[str, ...]:
    """Return the codes of a closed list, in its order."""
    return tuple(words()[which])
