"""Which originals are named by a row somewhere: in the tables, in their histories, in snapshots.

Every table with a column ``sha256`` counts, so that a new subject which names originals needs no change here.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.db import connection

# The record of what was read again names originals without needing them.
_BOOKKEEPING = "archive_filecheck"
_TABLES = (
    "SELECT DISTINCT tables.name FROM sqlite_master AS tables, pragma_table_info(tables.name) AS columns "
    "WHERE tables.type = 'table' AND columns.name = 'sha256'"
)


def named_now() -> set[str]:
    """Return the digests that rows or history rows of the archive name."""
    with connection.cursor() as cursor:
        return _named(cursor)


def is_named(digest: str) -> bool:
    """Say whether a row or a history row of the archive names an original."""
    with connection.cursor() as cursor:
        for table in _tables(cursor):
            cursor.execute(f'SELECT 1 FROM "{table}" WHERE sha256 = %s LIMIT 1', [digest])  # noqa: S608 - our tables
            if cursor.fetchone():
                return True
    return False


def named_in_files(databases: Iterable[Path]) -> set[str]:
    """Return the digests that database files name which nothing writes to: snapshots, and what was set aside.

    Raises:
        sqlite3.DatabaseError: one of them cannot be read, so that it is not known what it names.
    """
    found: set[str] = set()
    for path in databases:
        copy = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
        try:
            found |= _named(copy.cursor())
        finally:
            copy.close()
    return found


def _tables(cursor: Any) -> list[str]:
    cursor.execute(_TABLES)
    return [row[0] for row in cursor.fetchall() if row[0] != _BOOKKEEPING]


def _named(cursor: Any) -> set[str]:
    found: set[str] = set()
    for table in _tables(cursor):
        cursor.execute(f'SELECT DISTINCT sha256 FROM "{table}" WHERE sha256 IS NOT NULL')  # noqa: S608 - our tables
        found.update(row[0] for row in cursor.fetchall())
    return found
