"""Which way of writing is safe with the SQLite at hand (pure).

SQLite 3.7.0 to 3.51.2 can damage a WAL database when two connections write and checkpoint at the same instant
(fixed in 3.51.3, March 2026). With an older library the archive uses a rollback journal, full syncs and one lock.
"""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from typing import Any

MODE_VARIABLE = "KISTBOOK_SQLITE_MODE"
_SAFE_WAL = (3, 51, 3)
TIMEOUT_SECONDS = 30.0


@dataclass(frozen=True)
class Mode:
    """How the archive's database is written."""

    name: str
    journal: str
    synchronous: str
    one_writer: bool  # every write transaction of this process takes one lock


NEWER = Mode("newer", "WAL", "FULL", one_writer=False)
OLDER = Mode("older", "TRUNCATE", "EXTRA", one_writer=True)


def library_version() -> tuple[int, ...]:
    """Return the version of the SQLite that Django will use."""
    import sqlite3  # the bundled one, where settings have put it in place

    return tuple(sqlite3.sqlite_version_info)


def mode() -> Mode:
    """Return the mode for this library; the variable KISTBOOK_SQLITE_MODE may force the older one."""
    forced = os.environ.get(MODE_VARIABLE)
    if forced == "older" or library_version() < _SAFE_WAL:
        return OLDER
    return NEWER


def settings_options() -> dict[str, Any]:
    """Return the OPTIONS of Django's database settings."""
    chosen = mode()
    return {
        "transaction_mode": "IMMEDIATE",
        "timeout": TIMEOUT_SECONDS,
        "init_command": (
            f"PRAGMA journal_mode={chosen.journal};PRAGMA synchronous={chosen.synchronous};"
            "PRAGMA mmap_size=0;PRAGMA cache_size=-16000;PRAGMA journal_size_limit=67108864;"
        ),
    }


def expected_pragmas() -> dict[str, str]:
    """Return what a connection must answer when asked, for the check at start."""
    chosen = mode()
    levels = {"FULL": "2", "EXTRA": "3"}
    return {
        "journal_mode": chosen.journal.lower(),
        "synchronous": levels[chosen.synchronous],
        "foreign_keys": "1",
        "mmap_size": "0",
        "busy_timeout": str(int(TIMEOUT_SECONDS * 1000)),
    }


def is_bundled() -> bool:
    """Say whether the newer bundled library stands in for the system's."""
    return "pysqlite3" in sys.modules and sys.modules.get("sqlite3") is sys.modules["pysqlite3"]
