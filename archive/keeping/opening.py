"""What happens before an archive is served: folders, checks, a snapshot, and the tables brought up to date."""

from __future__ import annotations

import contextlib
import logging
import os
import secrets
import shutil
import sqlite3
import threading
from collections.abc import Callable, Iterable
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import OperationalError, connection, connections
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone

from archive.keeping import places
from archive.keeping.fatal import fault_point
from archive.keeping.first_tables import lay_tables
from archive.keeping.home import SUBFOLDERS
from archive.keeping.models import ArchiveInfo
from archive.keeping.snapshots import (
    BadSnapshot,
    Snapshot,
    check_database,
    find_snapshot,
    has_tables,
    migrations_in,
    restore,
    snapshots,
    take_snapshot,
    tidy_after_kill,
)

_log = logging.getLogger("kistbook")
restart_asked = threading.Event()
_RESTORE_NOTE = "restore-asked"
QUICK_ABOVE_BYTES = 64 << 20
_WORKING_ROOM_BYTES = 4 << 20
_OUR_APPS = ("archive", "conservation")


class CannotOpen(RuntimeError):
    """The archive is not opened; the sentence says why and what to do."""


def prepare_folder() -> None:
    """Make the data folder with its parts and its secret.

    Raises:
        CannotOpen: the folder is on a network drive, in a folder that another program copies about, or not writable.
    """
    root: Path = settings.DATA_FOLDER.root
    where = root.resolve()
    if places.is_copied_about(root) or places.is_copied_about(where):
        raise CannotOpen(f"{root} is inside a folder that another program copies about. Choose a folder of its own.")
    if places.is_on_network(where):
        raise CannotOpen(
            f"{root} is on a network drive, where a database is not safe. Choose a folder on this computer."
        )
    try:
        root.mkdir(mode=0o700, parents=True, exist_ok=True)
        for name in SUBFOLDERS:
            (root / name).mkdir(mode=0o700, exist_ok=True)
        _make_secret(settings.DATA_FOLDER.secret)
    except OSError as error:
        raise CannotOpen(f"The folder {root} cannot be used: {error.strerror}.") from None


def _make_secret(path: Path) -> None:
    """Write the archive's secret once, whole, for its owner's eyes alone."""
    if path.exists() and path.read_text().strip():
        return
    fresh = path.with_suffix(".new")
    fresh.unlink(missing_ok=True)
    handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with open(handle, "w") as file:  # noqa: PTH123 - from a handle
        file.write(secrets.token_urlsafe(50))
        file.flush()
        os.fsync(file.fileno())
    fresh.replace(path)


def ask_restore(name: str) -> None:
    """Ask that a snapshot be put back; it happens when Kistbook starts anew, which is asked for too."""
    (settings.DATA_FOLDER.root / _RESTORE_NOTE).write_text(name)
    restart_asked.set()


def carry_out_restore(say: Callable[[str], None]) -> None:
    """Put back the snapshot that a page asked for, if any; a restore that a kill cut off is done again."""
    tidy_after_kill()
    note = settings.DATA_FOLDER.root / _RESTORE_NOTE
    if not note.is_file():
        return
    snapshot = find_snapshot(note.read_text().strip())
    if snapshot is None:
        say("The snapshot that was asked for is gone; nothing was changed.")
    else:
        try:
            aside = put_back(snapshot)
        except (BadSnapshot, OSError) as error:
            say(f"{error} Nothing was changed.")
        else:
            say(f"Put back {snapshot}. What stood before is kept as {aside.name}.")
    note.unlink()


def put_back(snapshot: Snapshot) -> Path:
    """Put a snapshot in place of the database, unless newer code wrote it; return where the old one went.

    Raises:
        BadSnapshot: the snapshot is damaged, or was written by a newer Kistbook.
        OSError: the disk is full or fails; nothing was changed.
    """
    troubles = check_database(snapshot.path)
    if not troubles and unknown_changes(migrations_in(snapshot.path)):
        troubles = ["it was written by a newer Kistbook"]
    if troubles:
        raise BadSnapshot(f"{snapshot.title} cannot be used: {troubles[0]}.")
    connections.close_all()
    return restore(snapshot)


def unknown_changes(applied: Iterable[tuple[str, str]]) -> list[str]:
    """Return the names of changes of the tables that this code does not know; there are some only from newer code."""
    known = MigrationLoader(None).disk_migrations
    return sorted(name for app, name in applied if app in _OUR_APPS and (app, name) not in known)


def open_archive(say: Callable[[str], None]) -> None:
    """Check the database, refuse one from newer code, and bring its tables up to date after a snapshot.

    Raises:
        CannotOpen: the database is missing, damaged, was written by a newer Kistbook, or cannot be brought up to date.
    """
    try:
        _open(say)
    except (OSError, OperationalError, sqlite3.OperationalError) as error:
        # Opening takes a little room: SQLite's own working files, and the note of who opened it.
        if shutil.disk_usage(settings.DATA_FOLDER.root).free > _WORKING_ROOM_BYTES:
            raise
        raise CannotOpen(
            f"The disk with {settings.DATA_FOLDER.root} is full, so the archive cannot be opened. "
            "Nothing was changed. Make room, then start again."
        ) from error


def _open(say: Callable[[str], None]) -> None:
    database: Path = settings.DATA_FOLDER.database
    is_new = not has_tables(database)
    if is_new and snapshots():
        raise CannotOpen(
            f"The record (kistbook.sqlite3) is missing from {settings.DATA_FOLDER.root}, but there are snapshots. "
            "List them with: manage.py restore. Put one back with: manage.py restore NAME"
        )
    if not is_new:
        # A very large database would keep the keeper waiting; upkeep checks the rest of it in the first quiet minute.
        troubles = check_database(database, live=True, quick=database.stat().st_size > QUICK_ABOVE_BYTES)
        if troubles and shutil.disk_usage(database.parent).free < _WORKING_ROOM_BYTES:
            raise sqlite3.OperationalError(troubles[0])  # not looked at, for want of room, is not damaged
        if troubles:
            raise CannotOpen(
                f"The archive’s database is damaged: {troubles[0]}. Nothing was changed. "
                "Put back a snapshot with: manage.py restore"
            )
    loader = MigrationLoader(connection)
    if unknown_changes(loader.applied_migrations):
        raise CannotOpen(
            f"This archive was written by a newer Kistbook{_written_by()}; this one is {settings.KISTBOOK_VERSION}. "
            "Start it with the newer one. Nothing was changed."
        )
    if set(loader.graph.nodes) - set(loader.applied_migrations):
        _bring_up_to_date(say, is_new=is_new)
    connection.check_pragmas()  # type: ignore[attr-defined]
    ArchiveInfo.objects.update_or_create(
        pk=1, defaults={"version": settings.KISTBOOK_VERSION, "opened_at": timezone.now()}
    )


def _bring_up_to_date(say: Callable[[str], None], *, is_new: bool) -> None:
    """Run the waiting changes of the tables; should one fail, the archive stands again as it was before the first."""
    kept = None
    if not is_new:
        kept = take_snapshot("before-upgrade")
        say(f"Kept {kept} before bringing the archive up to date.")
    fault_point("before-migrate")
    try:
        if is_new:
            lay_tables()
        else:
            call_command("migrate", verbosity=0, interactive=False)
    except Exception as error:
        _log.exception("bringing the archive up to date failed")
        if kept is None:
            raise
        connections.close_all()
        restore(kept)
        raise CannotOpen(
            f"Bringing the archive up to date failed ({type(error).__name__}). It stands as it did before; "
            "the Kistbook that wrote it can open it. The log says more."
        ) from error
    fault_point("migrated")


def _written_by() -> str:
    with contextlib.suppress(Exception):
        info = ArchiveInfo.objects.filter(pk=1).values_list("version", flat=True).first()
        if info:
            return f" ({info})"
    return ""
