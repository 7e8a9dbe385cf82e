"""One process holds an archive: a lock file, and a note of who has it."""

from __future__ import annotations

import contextlib
import json
import os
import socket
from datetime import UTC, datetime

from filelock import FileLock, Timeout

from archive.keeping.home import DataFolder


class HeldElsewhere(RuntimeError):
    """Another process has the archive; the sentence says who and where."""


class ArchiveLock:
    """The lock of one data folder, held from start to end."""

    def __init__(self, folder: DataFolder) -> None:
        self._folder = folder
        self._lock = FileLock(str(folder.lock), timeout=0)
        self._note = folder.root / "lock.who"

    def take(self) -> None:
        """Take the lock.

        Raises:
            HeldElsewhere: another process has it.
        """
        try:
            self._lock.acquire()
        except Timeout:
            raise HeldElsewhere(self._who()) from None
        self.tell("")

    def tell(self, address: str) -> None:
        """Note who has the archive and at which address it is served."""
        note = {
            "process": os.getpid(),
            "computer": socket.gethostname(),
            "since": datetime.now(UTC).isoformat(timespec="seconds"),
            "address": address,
        }
        with contextlib.suppress(OSError):  # a full disk; the lock itself holds without the note
            self._note.write_text(json.dumps(note))

    def give_back(self) -> None:
        """Let the archive go."""
        self._note.unlink(missing_ok=True)
        self._lock.release()

    def _who(self) -> str:
        try:
            note = json.loads(self._note.read_text())
        except (OSError, ValueError):
            return f"Another Kistbook is using the archive in {self._folder.root}. Close it first."
        where = f" It is open at {note['address']}." if note.get("address") else ""
        return (
            f"The archive in {self._folder.root} is in use since {note['since']} by process {note['process']} "
            f"on the computer {note['computer']}.{where} Use that one, or close it first."
        )
