"""What search adds to the catalogue: upkeep that makes and checks the index."""

from __future__ import annotations

from collections.abc import Callable

from archive.extend import Extension
from archive.search import signals  # noqa: F401 - ties the index to change sets
from archive.search.actions import complete
from archive.search.models import RECIPE


def _upkeep() -> list[tuple[str, Callable[[], None]]]:
    # The recipe is part of the name, so that a new one is due at once, as is the first of an upgraded archive.
    return [(f"search index {RECIPE}", _complete)]


def _complete() -> None:
    complete()


SEARCH = Extension(subject="search", upkeep=_upkeep)
