"""What happens before an archive is served: folders, checks, a snapshot, and the tables brought up to date."""

from __future__ import annotations

import contextlib
import secrets
import threading
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone

from archive.keeping.home import SUBFOLDERS
from archive.keeping.models import ArchiveInfo
from archive.keeping.snapshots import check_database, find_snapshot, restore, take_snapshot

_SYNCED = (
    "dropbox",
    "onedrive",
    "google drive",
    "icloud drive",
    "icloud",
    "nextcloud",
    "syncthing",
    "mobile documents",
)
_NETWORK = {"nfs", "nfs4", "cifs", "smb3", "smbfs", "afpfs", "sshfs", "fuse.sshfs", "9p", "davfs", "fuse.davfs2"}
restart_asked = threading.Event()
_RESTORE_NOTE = "restore-asked"


class CannotOpen(RuntimeError):
    """The archive is not opened; the sentence says why and what to do."""


def prepare_folder() -> None:
    """Make the data folder with its parts and its secret.

    Raises:
        CannotOpen: the folder is on a network drive, in a folder that another program copies about, or not writable.
    """
    root: Path = settings.DATA_FOLDER.root
    lowered = [part.lower() for part in root.parts]
    if any(part in _SYNCED for part in lowered):
        raise CannotOpen(f"{root} is inside a folder that another program copies about. Choose a folder of its own.")
    if _file_system(root) in _NETWORK:
        raise CannotOpen(
            f"{root} is on a network drive, where a database is not safe. Choose a folder on this computer."
        )
    try:
        root.mkdir(mode=0o700, parents=True, exist_ok=True)
        for name in SUBFOLDERS:
            (root / name).mkdir(mode=0o700, exist_ok=True)
        secret: Path = settings.DATA_FOLDER.secret
        if not secret.exists() or not secret.read_text().strip():
            secret.touch(mode=0o600)
            secret.write_text(secrets.token_urlsafe(50))
    except OSError as error:
        raise CannotOpen(f"The folder {root} cannot be used: {error.strerror}.") from None


def _file_system(path: Path) -> str:
    """Return the type of the file system a path is on, where this system tells; else nothing."""
    mounts = Path("/proc/mounts")
    if not mounts.exists():
        return ""
    best, kind = "", ""
    for line in mounts.read_text().splitlines():
        _, where, found, *_ = line.split(" ")
        where = where.replace("\\040", " ")
        if (str(path) + "/").startswith(where.rstrip("/") + "/") and len(where) >= len(best):
            best, kind = where, found
    return kind


def ask_restore(name: str) -> None:
    """Ask that a snapshot be put back; it happens when Kistbook starts anew, which is asked for too."""
    (settings.DATA_FOLDER.root / _RESTORE_NOTE).write_text(name)
    restart_asked.set()


def carry_out_restore(say: Callable[[str], None]) -> None:
    """Put back the snapshot that a page asked for, if any."""
    note = settings.DATA_FOLDER.root / _RESTORE_NOTE
    if not note.is_file():
        return
    snapshot = find_snapshot(note.read_text().strip())
    note.unlink()
    if snapshot is None:
        say("The snapshot that was asked for is gone; nothing was changed.")
        return
    try:
        aside = restore(snapshot)
    except ValueError as error:
        say(str(error))
    else:
        say(f"Put back {snapshot}. What stood before is kept as {aside.name}.")


def open_archive(say: Callable[[str], None]) -> None:
    """Check the database, refuse one from newer code, and bring its tables up to date after a snapshot.

    Raises:
        CannotOpen: the database is damaged, or was written by a newer Kistbook.
    """
    database: Path = settings.DATA_FOLDER.database
    is_new = not database.exists() or database.stat().st_size == 0
    if not is_new:
        troubles = check_database(database)
        if troubles:
            raise CannotOpen(
                f"The archive’s database is damaged: {troubles[0]}. Nothing was changed. "
                "Put back a snapshot with: manage.py restore"
            )
    loader = MigrationLoader(connection)
    unknown = sorted(set(loader.applied_migrations) - set(loader.disk_migrations))
    ours = [name for app, name in unknown if app in ("archive", "conservation")]
    if ours:
        raise CannotOpen(
            f"This archive was written by a newer Kistbook{_written_by()}; this one is {settings.KISTBOOK_VERSION}. "
            "Start it with the newer one. Nothing was changed."
        )
    waiting = set(loader.graph.nodes) - set(loader.applied_migrations)
    if waiting:
        if not is_new:
            say(f"Kept {take_snapshot('before-upgrade')} before bringing the archive up to date.")
        call_command("migrate", verbosity=0, interactive=False)
    connection.check_pragmas()  # type: ignore[attr-defined]
    ArchiveInfo.objects.update_or_create(
        pk=1, defaults={"version": settings.KISTBOOK_VERSION, "opened_at": timezone.now()}
    )


def _written_by() -> str:
    with contextlib.suppress(Exception):
        info = ArchiveInfo.objects.filter(pk=1).values_list("version", flat=True).first()
        if info:
            return f" ({info})"
    return ""
