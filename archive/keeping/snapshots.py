"""Snapshots of the database: made whole, flushed, thinned with age, and put back."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import shutil
import sqlite3
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from django.conf import settings

from archive.keeping.fatal import fault_point, watching_writes
from archive.keeping.sqlite.base import write_turn

_NAME = re.compile(r"kistbook-(\d{8}T\d{6})(?:-[a-z-]+)?(?:-\d+)?\.sqlite3")
DAYS, WEEKS, MONTHS = 7, 4, 12
_TAILS = ("-wal", "-shm", "-journal")
_WAIT_MILLISECONDS = 60_000
_ASIDE_KEPT_SECONDS = 366 * 24 * 3600


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
    def title(self) -> str:
        """As it begins a sentence."""
        return f"T{str(self)[1:]}"

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
        BadSnapshot: the copy is not sound, because the database is not.
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
    try:
        with watching_writes(), _telling_disk_troubles():
            with write_turn(), contextlib.closing(sqlite3.connect(database or settings.DATA_FOLDER.database)) as source:
                source.execute(f"PRAGMA busy_timeout = {_WAIT_MILLISECONDS}")
                source.execute("VACUUM INTO ?", (str(half),))
            fault_point("snapshot-half")
            with half.open("rb+") as file:
                os.fsync(file.fileno())
            troubles = check_database(half)
            if troubles:
                raise BadSnapshot(f"The copy of the database is not sound: {troubles[0]}")
            half.replace(goal)
            fault_point("snapshot-named")
            _flush_folder(goal.parent)
    except BaseException:
        with contextlib.suppress(OSError):
            half.unlink()
        raise
    return Snapshot(goal, now.replace(microsecond=0))


@contextlib.contextmanager
def _telling_disk_troubles() -> Iterator[None]:
    """Turn what SQLite says of the disk into the operating system's words for it."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        if "full" in str(error):
            raise OSError(errno.ENOSPC, "the disk is full") from error
        if "disk I/O error" in str(error):
            raise OSError(errno.EIO, "the disk failed") from error
        raise


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
    for half in settings.DATA_FOLDER.snapshots.glob("*.half*"):
        half.unlink(missing_ok=True)
    too_old = time.time() - _ASIDE_KEPT_SECONDS
    for aside in set_aside():
        if aside.stat().st_mtime < too_old:
            aside.unlink()
    return len(gone)


def check_database(path: Path, *, live: bool = False, quick: bool = False) -> list[str]:
    """Return what is wrong with a database file: damage, or rows that point nowhere. Empty means sound.

    Args:
        path: the file.
        live: the archive's own database; a transaction that a kill cut off is rolled back first, as SQLite does.
        quick: leave out whether every index agrees with its table, which takes the most time.
    """
    try:
        connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode={'rw' if live else 'ro'}", uri=True, timeout=30)
    except sqlite3.Error as error:
        return [str(error)]
    try:
        depth = "quick_check" if quick else "integrity_check"
        troubles = [row[0] for row in connection.execute(f"PRAGMA {depth}") if row[0] != "ok"]
        lost = connection.execute("PRAGMA foreign_key_check").fetchmany(20)
        troubles += [f"a row of {row[0]} points to a row of {row[2]} that is not there" for row in lost]
        tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type='table'")}
        if "django_migrations" not in tables:
            troubles.append("it is not an archive of Kistbook")
    except sqlite3.DatabaseError as error:
        troubles = [str(error)]
    finally:
        connection.close()
    return troubles


def has_tables(path: Path) -> bool:
    """Say whether a database holds anything at all; a start that was cut off leaves an empty one."""
    if not path.exists() or path.stat().st_size == 0:
        return False
    with contextlib.closing(sqlite3.connect(path, timeout=30)) as connection:
        try:
            return bool(connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])
        except sqlite3.DatabaseError:
            return True  # damaged is not empty


def migrations_in(path: Path) -> set[tuple[str, str]]:
    """Return which changes of the tables (app, name) a database file has seen."""
    with contextlib.closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as connection:
        return {(row[0], row[1]) for row in connection.execute("SELECT app, name FROM django_migrations")}


def set_aside() -> list[Path]:
    """Return the databases that restores have set aside."""
    return sorted(settings.DATA_FOLDER.root.glob("kistbook-before-restore-*.sqlite3"))


def restore(snapshot: Snapshot) -> Path:
    """Put a snapshot in place of the database, which is kept beside it; return where the old one went.

    Nothing may have the database open. The copy is flushed before the switch, which is one rename: a kill at any
    moment leaves either what stood or what was put back.

    Raises:
        BadSnapshot: the snapshot is damaged.
        NoRoom, DiskBroken: the disk is full or fails; nothing was changed.
    """
    troubles = check_database(snapshot.path)
    if troubles:
        raise BadSnapshot(f"{snapshot.title} cannot be used: {troubles[0]}.")
    database: Path = settings.DATA_FOLDER.database
    fresh = database.with_suffix(".restoring")
    aside = database.with_name(f"kistbook-before-restore-{datetime.now(UTC):%Y%m%dT%H%M%S}.sqlite3")
    with watching_writes():
        _copy_flushed(snapshot.path, fresh)
        fault_point("restore-copied")
        if database.exists():
            whole = _settle(database)
            _second_name(database, aside)
            logs = [log for log in (Path(f"{database}{tail}") for tail in _TAILS) if log.exists()]
            for log in logs:
                if not whole and log.name != f"{database.name}-shm":
                    _copy_flushed(log, aside.with_name(log.name.replace(database.name, aside.name, 1)))
            _flush_folder(database.parent)
            for log in logs:
                log.unlink()  # a log that belongs to the old file would damage the new one
        fault_point("restore-aside")
        fresh.replace(database)
        fault_point("restore-switched")
        _flush_folder(database.parent)
    return aside


def tidy_after_kill() -> None:
    """Clear away what a restore left that was cut off before its switch; the database stands as it was."""
    database: Path = settings.DATA_FOLDER.database
    database.with_suffix(".restoring").unlink(missing_ok=True)
    for path in set_aside():
        if database.exists() and path.samefile(database):
            path.unlink()  # only a second name of the database in use


def _copy_flushed(source: Path, goal: Path) -> None:
    goal.unlink(missing_ok=True)
    with source.open("rb") as read, goal.open("xb") as write:
        shutil.copyfileobj(read, write, 1 << 20)
        write.flush()
        os.fsync(write.fileno())


def _second_name(path: Path, other: Path) -> None:
    """Keep a file under another name too; copied where the disk knows no second names."""
    try:
        other.hardlink_to(path)
    except OSError:
        _copy_flushed(path, other)


def _settle(database: Path) -> bool:
    """Bring what lies in a journal into its file, so that the file set aside is whole; False if it is past that."""
    try:
        with contextlib.closing(sqlite3.connect(database, timeout=30)) as connection:
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
            return bool(connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0] == 0)
    except sqlite3.DatabaseError:
        return False
