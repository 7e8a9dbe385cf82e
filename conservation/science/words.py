"""The words shown to people for every code, from ``data/words/en.toml``: the one seam for a translation."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache

from conservation.science.sources import DATA


@dataclass(frozen=True, slots=True)
class Word:
    """What people read for a code: a short name, and one sentence."""

    name: str
    line: str


@cache
def words(language: str = "en") -> dict[str, dict[str, Word]]:
    """Return all words by group and code, in the order of the file.

    Raises:
        FileNotFoundError: there are no words in that language.
    """
    with (DATA / "words" / f"{language}.toml").open("rb") as file:
        groups = tomllib.load(file)
    return {
        group: {code: Word(row["name"], row["line"]) for code, row in rows.items()} for group, rows in groups.items()
    }


def word(group: str, code: str, language: str = "en") -> Word:
    """Return the words for one code.

    Parameters
    ----------
    group : name of a closed list, such as ``form``, ``never``, ``actions`` or ``hazard``
    code : a code of that list
    language : the language's file name in ``data/words``

    Raises:
        KeyError: there is no such group or code.
    """
    return words(language)[group][code]
