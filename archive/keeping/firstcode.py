"""The one-time code by which another device may create the keeper of a new archive."""

from __future__ import annotations

import secrets
import threading

_TRIES = 10
_lock = threading.Lock()
_code = ""
_left = _TRIES


def new_code() -> str:
    """Make the code that is printed where Kistbook was started; it lives in memory alone."""
    global _code, _left
    with _lock:
        _code, _left = "".join(secrets.choice("23456789") for _ in range(8)), _TRIES
        return _code


def check(typed: str) -> bool:
    """Say whether somebody typed the code; after ten wrong tries no code fits until the next start."""
    global _left
    with _lock:
        if not _code or _left <= 0:
            return False
        _left -= 1
        return secrets.compare_digest("".join(typed.split()).encode(), _code.encode())
