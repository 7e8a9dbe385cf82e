"""Snapshots of the database: made whole, flushed, thinned with age, and put back."""

from __future__ import annotations

import contextlib
import os
import re
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from django.conf import settings

from archive.keeping.fatal import fault_point, watching_writes

_NAME = re.compile(r"kistbook-(\d{8}T\d{6})(?:-[a-z-]+)?(?:-\d+)?\.sqlite3")
DAYS, WEEKS, MONTHS = 7, 4, 12


class BadSnapshot(ValueError):
    """A snapshot cannot be put back; the sentence says why."""


@dataclass(frozen=True)
class Snapshot:
    """One snapshot file."""

    path: Path
    at: datetime

    def __str__(self) -> str:
        return f"the snapshot of {self.at.day} {self.at:%B %Y, %H:%M} UTC"

    @property
    def name(self) -> str:
        return self.path.name

    @property
    def size(self) -> int:
        return self.path.stat().st_size


def snapshots() -> list[Snapshot]:
    """Return all snapshots, the newest first."""
    found = []
    for path in settings.DATA_FOLDER.snapshots.glob("kistbook-*.sqlite3"):
        match = _NAME.fullmatch(path.name)
        if match:
            found.append(Snapshot(path, datetime.strptime(match[1], "%Y%m%dT%H%M%S").replace(tzinfo=UTC)))
    return sorted(found, key=lambda each: (each.at, each.name), reverse=True)


def find_snapshot(name: str) -> Snapshot | None:
    """Return the snapshot with this file name, or None."""
    return next((each for each in snapshots() if each.name == name), None)


def holding(born: datetime, until: datetime | None = None) -> list[Snapshot]:
    """Return the snapshots made while a record existed."""
    return [each for each in snapshots() if each.at >= born and (until is None or each.at <= until)]


def take_snapshot(reason: str = "", *, database: Path | None = None) -> Snapshot:
    """Copy the database as it stands into `snapshots`, whole and flushed (VACUUM INTO does not flush by itself).

    Raises:
        NoRoom, DiskBroken: the disk is full or fails; no half snapshot stays.
    """
    now = datetime.now(UTC)
    stem = f"kistbook-{now:%Y%m%dT%H%M%S}" + (f"-{reason}" if reason else "")
    goal = settings.DATA_FOLDER.snapshots / f"{stem}.sqlite3"
    count = 1
    while goal.exists():
        count += 1
        goal = settings.DATA_FOLDER.snapshots / f"{stem}-{count}.sqlite3"
    half = goal.with_suffix(".half")
    half.unlink(missing_ok=True)
    with watching_writes():
        try:
            connection = sqlite3.connect(database or settings.DATA_FOLDER.database, timeout=60)
            try:
                connection.execute("VACUUM INTO ?", (str(half),))
            finally:
                connection.close()
            fault_point("snapshot-half")
            with half.open("rb+") as file:
                os.fsync(file.fileno())
            half.replace(goal)
            _flush_folder(goal.parent)
        except sqlite3.OperationalError as error:
            half.unlink(missing_ok=True)
            if "full" in str(error):
                raise OSError(28, "the disk is full") from error
            raise
    return Snapshot(goal, now.replace(microsecond=0))


def _flush_folder(folder: Path) -> None:
    if os.name != "nt":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def kept(times: Iterable[datetime], today: date) -> set[datetime]:
    """Return which snapshots stay: the last of each of 7 days, 4 weeks and 12 months, and always the newest.

    Weeks run from Monday; today counts as the first day. What is dated later than today stays.
    """
    ordered = sorted(times)
    stay = set(ordered[-1:])
    best: dict[tuple[str, int], datetime] = {}
    this_monday = today - timedelta(days=today.weekday())
    for at in ordered:
        day = at.date()
        age_days = (today - day).days
        weeks = (this_monday - (day - timedelta(days=day.weekday()))).days // 7
        months = (today.year - day.year) * 12 + today.month - day.month
        if age_days < 0:
            stay.add(at)
        if 0 <= age_days < DAYS:
            best["day", age_days] = at
        if 0 <= weeks < WEEKS:
            best["week", weeks] = at
        if 0 <= months < MONTHS:
            best["month", months] = at
    return stay | set(best.values())


def thin() -> int:
    """Delete snapshots that are not kept; return how many."""
    all_of_them = snapshots()
    stay = kept([each.at for each in all_of_them], datetime.now(UTC).date())
    gone = [each for each in all_of_them if each.at not in stay]
    for each in gone:
        each.path.unlink()
    for half in settings.DATA_FOLDER.snapshots.glob("*.half"):
        half.unlink(missing_ok=True)
    return len(gone)


def check_database(path: Path) -> list[str]:
    """Return what is wrong with a database file: damage, or rows that point nowhere. Empty means sound."""
    try:
        # Not read-only: a file that a kill left with a hot journal is mended by SQLite on the first read.
        connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=60)
    except sqlite3.Error as error:
        return [str(error)]
    try:
        troubles = [row[0] for row in connection.execute("PRAGMA integrity_check") if row[0] != "ok"]
        lost = connection.execute("PRAGMA foreign_key_check").fetchall()
        troubles += [f"a row of {row[0]} points to a row of {row[2]} that is not there" for row in lost[:20]]
        tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type='table'")}
        if "django_migrations" not in tables:
            troubles.append("it is not an archive of Kistbook")
    except sqlite3.DatabaseError as error:
        troubles = [str(error)]
    finally:
        connection.close()
    return troubles


def restore(snapshot: Snapshot) -> Path:
    """Put a snapshot in place of the database, which is kept beside it; return where the old one went.

    Nothing may have the database open. The copy is checked before the switch, which is one rename.

    Raises:
        BadSnapshot: the snapshot is damaged.
    """
    troubles = check_database(snapshot.path)
    if troubles:
        raise BadSnapshot(f"{snapshot} cannot be used: {troubles[0]}")
    database: Path = settings.DATA_FOLDER.database
    fresh = database.with_suffix(".restoring")
    fresh.unlink(missing_ok=True)
    with watching_writes():
        with snapshot.path.open("rb") as source, fresh.open("wb") as goal:
            while chunk := source.read(1 << 20):
                goal.write(chunk)
            goal.flush()
            os.fsync(goal.fileno())
        aside = database.with_name(f"kistbook-before-restore-{datetime.now(UTC):%Y%m%dT%H%M%S}.sqlite3")
        if database.exists():
            _settle(database)
            database.replace(aside)
        for tail in ("-wal", "-shm", "-journal"):
            # A log that belongs to the old file would damage the new one.
            with contextlib.suppress(FileNotFoundError):
                Path(f"{database}{tail}").unlink()
        fresh.replace(database)
        _flush_folder(database.parent)
    return aside


def _settle(database: Path) -> None:
    """Bring a write-ahead log into its file, so that the file set aside is whole."""
    connection = sqlite3.connect(database, timeout=30)
    try:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    finally:
        connection.close()
