"""Putting pictures together into things: one each, by the time between them, or all in one (pure; no Django)."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

GAP_MINUTES = 2  # our default: turning a thing over and taking its back is quicker than fetching the next
GAP_AT_MOST = 7 * 24 * 60
TITLE_AT_MOST = 300
_LONG_AGO = datetime(1, 1, 1)  # noqa: DTZ001 - a camera's clock has no zone


@dataclass(frozen=True)
class Shot:
    """One picture file: a key of its own, its name, and when its camera says it was taken, if it says so."""

    key: str
    name: str
    taken: str
    page: int = 0  # of a file with several pages, from 1

    @property
    def at(self) -> datetime | None:
        """Return the camera's time; a day without a time, or nonsense, is none."""
        try:
            return datetime.strptime(self.taken, "%Y-%m-%d %H:%M")  # noqa: DTZ007 - a camera's clock has no zone
        except ValueError:
            return None


def in_order(shots: Iterable[Shot]) -> list[Shot]:
    """Return pictures as they were taken: by time, and those without a time after them by name (``2`` before ``10``).

    The same file twice is kept once.
    """
    once = {shot.key: shot for shot in reversed(list(shots))}.values()
    return sorted(
        once,
        key=lambda shot: (shot.at is None, shot.at or _LONG_AGO, _natural(shot.name), shot.page, shot.key),
    )


def _natural(name: str) -> list[tuple[int, int, str]]:
    parts = re.findall(r"[0-9]+|[^0-9]+", name.casefold())
    return [(0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts]


def starts_each(shots: Sequence[Shot]) -> set[str]:
    """Every picture begins a thing."""
    return {shot.key for shot in shots}


def starts_all(shots: Sequence[Shot]) -> set[str]:
    """Only the first picture begins a thing."""
    return {shot.key for shot in shots[:1]}


def starts_by_gap(shots: Sequence[Shot], minutes: int) -> set[str]:
    """A picture begins a thing when more than some minutes lie between it and the one before.

    Where one of the two has no time, nothing can be told, and it begins a thing of its own.
    """
    starts = set()
    before: datetime | None = None
    for shot in shots:
        now = shot.at
        if now is None or before is None or now - before > timedelta(minutes=minutes):
            starts.add(shot.key)
        before = now
    return starts


def grouped(shots: Sequence[Shot], starts: set[str]) -> list[list[Shot]]:
    """Return the pictures of each thing; the first picture always begins one."""
    groups: list[list[Shot]] = []
    for shot in shots:
        if shot.key in starts or not groups:
            groups.append([shot])
        else:
            groups[-1].append(shot)
    return groups


def put_together(texts: Iterable[str]) -> str:
    """Return what was typed for pictures that are now one thing: each text once, so that nothing typed is lost."""
    return "; ".join(dict.fromkeys(text.strip() for text in texts if text.strip()))
