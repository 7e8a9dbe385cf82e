"""A new archive's tables are laid at once; they must be those that all changes one after the other would leave."""

from __future__ import annotations

import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

from tests.keeping.harness import ROOT

LAY = """
import os, sys
os.environ["DJANGO_SETTINGS_MODULE"] = "archive.settings"
sys.path.insert(0, ".")
import django
django.setup()
from django.core.management import call_command
from archive.keeping import opening
from archive.keeping.first_tables import lay_tables
opening.prepare_folder()
if sys.argv[1] == "at once":
    lay_tables()
else:
    call_command("migrate", verbosity=0)
call_command("migrate", check_unapplied=True, verbosity=0)
"""


def _laid(home: Path, how: str) -> sqlite3.Connection:
    environment = {**os.environ, "KISTBOOK_HOME": str(home)}
    run = subprocess.run([sys.executable, "-c", LAY, how], cwd=ROOT, env=environment, capture_output=True, text=True)
    assert run.returncode == 0, run.stderr[-3000:]
    return sqlite3.connect(home / "kistbook.sqlite3")


def _tables(database: sqlite3.Connection) -> dict[str, Any]:
    """Everything SQLite knows of each table: columns, keys, checks, indexes with their conditions."""
    found: dict[str, Any] = {}
    names = database.execute("SELECT name, sql FROM sqlite_master WHERE type = 'table' ORDER BY name").fetchall()
    for name, sql in names:
        indexes = {}
        for _, index, unique, origin, partial in database.execute(f'PRAGMA index_list("{name}")').fetchall():
            columns = [(row[2], row[3]) for row in database.execute(f'PRAGMA index_xinfo("{index}")') if row[5]]
            text = database.execute("SELECT sql FROM sqlite_master WHERE name = ?", [index]).fetchone()
            where = text[0].partition(" WHERE ")[2] if text and text[0] else ""
            key = index if not index.startswith("sqlite_autoindex") else str((columns, origin))
            indexes[key] = (unique, partial, columns, where)
        found[name] = {
            "columns": sorted(row[1:] for row in database.execute(f'PRAGMA table_xinfo("{name}")')),
            "keys": sorted(row[2:] for row in database.execute(f'PRAGMA foreign_key_list("{name}")')),
            "deferred": sql.count("DEFERRABLE INITIALLY DEFERRED"),
            "indexes": indexes,
            "checks": sorted(re.findall(r'(?:CONSTRAINT "\w+" )?CHECK \((?:[^()]|\((?:[^()]|\([^()]*\))*\))*\)', sql)),
            "kind": re.findall(r"AUTOINCREMENT|WITHOUT ROWID|USING \w+", sql),
        }
    return found


def test_tables_laid_at_once_are_those_of_all_changes(tmp_path: Path) -> None:
    for name in ("once", "steps"):
        (tmp_path / name).mkdir()
    once, steps = _laid(tmp_path / "once", "at once"), _laid(tmp_path / "steps", "step by step")
    a, b = _tables(once), _tables(steps)
    assert set(a) == set(b) and len(a) > 60
    for name in b:
        assert a[name] == b[name], name
    # What changes write into tables, and the list of the changes themselves.
    for name in b:
        if name.startswith(("archive_search", "sqlite_")) and name not in ("archive_searchindex",):
            continue
        count = f'SELECT count(*) FROM "{name}"'  # noqa: S608 - names of our own tables
        assert once.execute(count).fetchone() == steps.execute(count).fetchone(), name
    done = "SELECT app, name FROM django_migrations ORDER BY app, name"
    assert once.execute(done).fetchall() == steps.execute(done).fetchall()
    # The comparison can fail: one index less, or one column of another sort, is seen.
    named = "SELECT name FROM sqlite_master WHERE type = 'index' AND tbl_name = 'archive_thing' AND sql IS NOT NULL"
    (index,) = once.execute(named + " ORDER BY name LIMIT 1").fetchone()
    once.execute(f'DROP INDEX "{index}"')
    assert _tables(once)["archive_thing"] != b["archive_thing"]
    once.close()
    steps.close()
