"""Originals by their SHA-256, byte for byte, written so that a row never points at a file that is not on disk.

The order: incoming file → hash → fsync → publish by rename → fsync folder → (the caller's) row → answer.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import secrets
import shutil
import stat
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from django.conf import settings
from django.db import transaction

from archive.keeping import references
from archive.keeping.fatal import NoRoom, fault_point, watching_writes

__all__ = ["NoRoom", "Received", "TooLarge"]

_CHUNK = 1 << 20
_RESERVE_BYTES = 1 << 30
_RESERVE_SHARE = 0.05
_LOOK_EVERY_BYTES = 64 << 20
INCOMING_KEPT_SECONDS = 24 * 3600
ORPHANS_KEPT_SECONDS = 30 * 24 * 3600
RECIPE_FOLDER = "1"


class TooLarge(ValueError):
    """A file is over the limit; the message names the limit."""


class OriginalGone(ValueError):
    """A row was to name an original that is not in the store (any more)."""


@dataclass(frozen=True)
class Received:
    """A file that is on disk in `incoming`, flushed, with its digest."""

    path: Path
    sha256: str
    size: int

    def discard(self) -> None:
        """Throw the file away; it was not taken in."""
        with contextlib.suppress(FileNotFoundError):
            self.path.unlink()


def original_path(sha256: str) -> Path:
    """Return where an original is, or would be."""
    path: Path = settings.DATA_FOLDER.media / sha256[:2] / sha256
    return path


def derived_folder(sha256: str) -> Path:
    """Return the folder of what was made from an original; it may be deleted at any time."""
    path: Path = settings.DATA_FOLDER.derived / RECIPE_FOLDER / sha256[:2] / sha256
    return path


def room_bytes() -> int:
    """Return how many bytes may still come in: the smaller of 1 GB and 5 % of the disk stays free for the database."""
    usage = shutil.disk_usage(settings.DATA_FOLDER.root)
    return max(0, usage.free - min(_RESERVE_BYTES, int(usage.total * _RESERVE_SHARE)))


def room_left() -> bool:
    """Say whether the disk has room above the reserve."""
    return room_bytes() > 0


def _refuse_if_full() -> None:
    if not room_left():
        raise NoRoom(errno.ENOSPC, "the disk is nearly full")


def receive(stream: Any, limit: int) -> Received:
    """Write an uploaded file, an open file or chunks into `incoming`, hashing and counting, and flush it to disk.

    An upload that lies in a temporary file on the same volume already is linked rather than written again.

    Raises:
        TooLarge: the stream is longer than the limit (bytes).
        NoRoom: the disk is full, or only its reserve is left.
        DiskBroken: the disk failed.
    """
    _refuse_if_full()
    path = settings.DATA_FOLDER.incoming / secrets.token_hex(16)
    digest, size = hashlib.sha256(), 0
    try:
        with watching_writes():
            linked = _link(stream, path)
            with path.open("rb+" if linked else "xb") as file:
                source = _chunks(file) if linked else _chunks(stream)
                look_at = _LOOK_EVERY_BYTES
                for chunk in source:
                    size += len(chunk)
                    if size > limit:
                        raise TooLarge(f"it is larger than {limit // 1_048_576} MB")
                    if size >= look_at:
                        _refuse_if_full()
                        look_at = size + _LOOK_EVERY_BYTES
                    digest.update(chunk)
                    if not linked:
                        file.write(chunk)
                file.flush()
                fault_point("received")
                os.fsync(file.fileno())
    except BaseException:
        with contextlib.suppress(OSError):
            path.unlink()
        raise
    return Received(path, digest.hexdigest(), size)


def _link(stream: Any, path: Path) -> bool:
    """Give an upload's temporary file a second name in `incoming`; False where that is not possible."""
    named = getattr(stream, "temporary_file_path", None)
    if named is None or os.name == "nt":  # there a temporary file with a read-only second name cannot be deleted
        return False
    try:
        stream.file.flush()
        path.hardlink_to(named())
        if path.stat().st_size == stream.size:
            return True
    except OSError as error:
        if error.errno in (errno.EIO, errno.ENOSPC):
            raise
    with contextlib.suppress(FileNotFoundError):
        path.unlink()
    return False


def _chunks(stream: BinaryIO | Any) -> Iterator[bytes]:
    if hasattr(stream, "chunks"):
        yield from stream.chunks(_CHUNK)
    elif hasattr(stream, "read"):
        while chunk := stream.read(_CHUNK):
            yield chunk
    else:
        yield from stream


def publish(received: Received) -> str:
    """Give a received file its lasting name and flush the folder; an equal file that is there already stands.

    A file under that name which is damaged is replaced by the good one. Returns the SHA-256. Only after this may a
    row name the file, and the row's transaction calls `require`.
    """
    goal = original_path(received.sha256)
    with watching_writes():
        if _is_whole(goal, received):
            # Whoever put it there may not have flushed the folder yet.
            _flush_folder(goal.parent)
            os.utime(goal)
            received.discard()
            return received.sha256
        if not goal.parent.is_dir():
            goal.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            _flush_folder(goal.parent.parent)
        received.path.chmod(stat.S_IRUSR | stat.S_IRGRP)
        if os.name == "nt" and goal.exists():
            goal.chmod(stat.S_IWUSR | stat.S_IRUSR)  # a read-only file cannot be replaced there
        fault_point("before-publish")
        received.path.replace(goal)
        fault_point("published")
        _flush_folder(goal.parent)
    return received.sha256


def _is_whole(goal: Path, received: Received) -> bool:
    try:
        return goal.stat().st_size == received.size and digest_of(goal) == received.sha256
    except OSError:
        return False


def require(digests: Iterable[str]) -> None:
    """Stand inside a transaction that names originals: `forget_files` deletes only inside one of its own.

    Raises:
        OriginalGone: one of them was destroyed since it was taken in.
    """
    for digest in digests:
        if not original_path(digest).is_file():
            raise OriginalGone(digest)


def _flush_folder(folder: Path) -> None:
    if os.name == "nt":
        return  # Windows has no such call
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def digest_of(path: Path) -> str:
    """Return a file's SHA-256 by reading all of it."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def forget_files(digests: Iterable[str]) -> None:
    """Delete originals that no row names any more, and what was made from them (after "destroy for good")."""
    for digest in digests:
        # The write lock is held while looking and deleting, so that no row can begin to name the file in between.
        with transaction.atomic():
            if references.is_named(digest):
                continue
            _delete_original(digest)


def _delete_original(digest: str) -> None:
    shutil.rmtree(derived_folder(digest), ignore_errors=True)
    path = original_path(digest)
    with contextlib.suppress(FileNotFoundError):
        if os.name == "nt":
            path.chmod(stat.S_IWUSR | stat.S_IRUSR)
        path.unlink()


def sweep() -> int:
    """Remove what a broken upload left in `incoming` more than a day ago; return how many files."""
    removed = 0
    too_old = time.time() - INCOMING_KEPT_SECONDS
    for path in settings.DATA_FOLDER.incoming.iterdir():
        with contextlib.suppress(FileNotFoundError):
            if path.is_file() and path.stat().st_mtime < too_old:
                path.unlink()
                removed += 1
    return removed


def stored() -> Iterator[Path]:
    """Yield every file of the store that bears a digest as its name."""
    for folder in sorted(settings.DATA_FOLDER.media.iterdir()):
        if folder.is_dir():
            yield from sorted(path for path in folder.iterdir() if len(path.name) == 64)


def sweep_orphans(copies: Iterable[Path]) -> int:
    """Delete originals that nothing has named for thirty days; return how many.

    Neither a row, nor a history row (undo may bring it back), nor a snapshot (it may be put back) may name them.

    Args:
        copies: the snapshots and databases set aside.

    Raises:
        sqlite3.DatabaseError: a copy cannot be read; nothing is deleted then.
    """
    too_old = time.time() - ORPHANS_KEPT_SECONDS
    named = references.named_now()
    orphans = [path for path in stored() if path.name not in named and path.stat().st_mtime < too_old]
    if orphans:
        named_by_copies = references.named_in_files(copies)
        orphans = [path for path in orphans if path.name not in named_by_copies]
        forget_files(path.name for path in orphans)
    return len(orphans)


def damaged(digests: Iterable[str]) -> list[str]:
    """Read originals again and return the digests of those that are missing or no longer fit their name."""
    bad = []
    for digest in digests:
        try:
            good = digest_of(original_path(digest)) == digest
        except OSError:
            good = False
        if not good:
            bad.append(digest)
    return bad
