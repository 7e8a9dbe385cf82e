"""Slows down whoever tries addresses of the calendar: as at sign-in, a few wrong ones and the door stays shut."""

from __future__ import annotations

import threading
import time

from django.conf import settings

_MOST_REMEMBERED = 1000
_wrong: dict[str, list[float]] = {}
_lock = threading.Lock()


def is_shut(address: str) -> bool:
    """Say whether too many wrong tries came from a computer lately."""
    with _lock:
        return len(_lately(address)) >= settings.AXES_FAILURE_LIMIT


def note_wrong(address: str) -> None:
    """Remember a wrong try."""
    with _lock:
        tries = _lately(address)
        tries.append(time.monotonic())
        if address not in _wrong and len(_wrong) >= _MOST_REMEMBERED:
            _wrong.pop(next(iter(_wrong)))
        _wrong[address] = tries


def forget() -> None:
    """Forget all tries."""
    with _lock:
        _wrong.clear()


def _lately(address: str) -> list[float]:
    since = time.monotonic() - settings.AXES_COOLOFF_TIME.total_seconds()
    return [each for each in _wrong.get(address, ()) if each > since]
