"""The register of sources: every figure shown names its author, title, year, place and status."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal, get_args

Status = Literal["confirmed", "second-hand", "from memory", "common practice", "our default"]
STATUSES: tuple[Status, ...] = get_args(Status)  # from the firmest to the weakest
DATA = Path(__file__).parent / "data"
_NOBODY = frozenset({"Kistbook", "various", "you"})  # a reader asks for these by their title


@dataclass(frozen=True, order=True)
class Citation:
    """One use of a source: its key in ``sources.toml``, the place in it, and how well we know it says so."""

    key: str
    locator: str
    status: Status


@dataclass(frozen=True)
class Source:
    """One text or table as ``sources.toml`` names it."""

    key: str
    author: str
    title: str
    year: int | None
    place: str

    @property
    def named(self) -> str:
        """The source as a reader would ask for it: author, title and year; its title alone where nobody wrote it."""
        if self.author in _NOBODY:
            return self.title
        return f"{self.author}, {self.title}" + (f", {self.year}" if self.year else "")


@cache
def register() -> dict[str, Source]:
    """Return all sources by key, from ``data/sources.toml``."""
    with (DATA / "sources.toml").open("rb") as file:
        rows = tomllib.load(file)
    return {
        key: Source(key, row["author"], row["title"], row.get("year"), row.get("place", ""))
        for key, row in rows.items()
    }


def weakest(statuses: Iterable[Status]) -> Status:
    """Return the weakest of some statuses: what is computed is known no better than what it came from."""
    return max(statuses, key=STATUSES.index, default="our default")


def cited(citations: Iterable[Citation]) -> list[dict[str, object]]:
    """Write the citations used as the ``sources`` list of an answer: one entry per key and locator.

    Where one place was cited with two statuses the weaker one stands.
    """
    worst: dict[tuple[str, str], Status] = {}
    for citation in citations:
        place = (citation.key, citation.locator)
        worst[place] = weakest([worst.get(place, citation.status), citation.status])
    answer: list[dict[str, object]] = []
    for (key, locator), status in sorted(worst.items()):
        source = register()[key]
        answer.append(
            {
                "key": key,
                "author": source.author,
                "title": source.title,
                "year": source.year,
                "locator": locator,
                "status": status,
            }
        )
    return answer
