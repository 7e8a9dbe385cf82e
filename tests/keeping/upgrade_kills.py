"""First starts and upgrades that are killed at random: each next start finds the old archive or the new one."""

from __future__ import annotations

import random
import shutil
import sqlite3
import time
from pathlib import Path

from tests.keeping.harness import Server, Told, upload

THINGS = 150
LATER = {"DJANGO_SETTINGS_MODULE": "tests.keeping.later_settings"}


def run_upgrade_kills(home: Path, kills: int, seed: int, environ: dict[str, str] | None = None) -> dict[str, int]:
    """Kill first starts (every fourth) and upgrades of a filled archive, then let them start and look at each."""
    chance = random.Random(seed)
    filled, titles = _filled(home / "filled", environ or {})
    result = {"kills": kills, "upgrades_cut_off": 0, "lost": 0, "half": 0, "broken_database": 0}
    for round_ in range(kills):
        here = home / f"round {round_}"
        is_first = round_ % 4 == 3
        if not is_first:
            shutil.copytree(filled, here)
        server = Server(here, {**(environ or {}), **LATER})
        server.spawn()
        # A start takes some 0.4 s to come to the tables, and the change of them takes 0.6 s.
        time.sleep(chance.uniform(0.2, 1.3))
        server.kill()
        state = "none" if is_first else _state(here)
        result["upgrades_cut_off"] += state == "old"
        result["half"] += state == "half"
        server.start()
        result["half"] += _state(here) != "new"
        result["lost"] += len(titles - _titles(here)) if not is_first else 0
        server.close()
        connection = sqlite3.connect(here / "kistbook.sqlite3")
        result["broken_database"] += connection.execute("PRAGMA integrity_check").fetchone()[0] != "ok"
        connection.close()
        shutil.rmtree(here)
    return result


def _filled(home: Path, environ: dict[str, str]) -> tuple[Path, set[str]]:
    server = Server(home, environ)
    server.start()
    cookie, told = server.make_keeper(), Told()
    for number in range(3):
        upload(server, cookie, number, told)
    server.close()
    # The others are copies of the last row: an upgrade that takes its time needs many.
    with sqlite3.connect(home / "kistbook.sqlite3") as connection:
        columns = [row[1] for row in connection.execute("PRAGMA table_info(archive_thing)")]
        others = [name for name in columns if name not in ("id", "public_id", "serial_id", "title")]
        names = ", ".join(f'"{name}"' for name in others)
        for number in range(THINGS):
            connection.execute(
                "INSERT INTO archive_issuednumber (serial, subject) VALUES (?, 'things')", (9000 + number,)
            )
            connection.execute(
                f"INSERT INTO archive_thing (public_id, serial_id, title, {names}) "  # noqa: S608 - our own columns
                f"SELECT ?, ?, ?, {names} FROM archive_thing WHERE id = 1",
                (f"copy{number}", 9000 + number, f"Copy {number}"),
            )
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    return home, set(told.titles) | {f"Copy {number}" for number in range(THINGS)}


def _titles(home: Path) -> set[str]:
    connection = sqlite3.connect(home / "kistbook.sqlite3")
    try:
        return {row[0] for row in connection.execute("SELECT title FROM archive_thing")}
    finally:
        connection.close()


def _state(home: Path) -> str:
    """Say whether the later change of the tables is there: old, new, or half."""
    connection = sqlite3.connect(home / "kistbook.sqlite3")
    try:
        named = connection.execute("SELECT count(*) FROM django_migrations WHERE app = 'later_change'").fetchone()[0]
        columns = [row[1] for row in connection.execute("PRAGMA table_info(later_change_copy)")]
        if not named and not columns:
            return "old"
        things = connection.execute("SELECT count(*) FROM archive_thing").fetchone()[0]
        copies = connection.execute("SELECT count(*) FROM later_change_copy").fetchone()[0]
        return "new" if named and "length" in columns and copies == things else "half"
    except sqlite3.OperationalError:
        return "half"
    finally:
        connection.close()
