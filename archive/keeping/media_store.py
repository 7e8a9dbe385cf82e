"""Originals by their SHA-256, byte for byte, written so that a row never points at a file that is not on disk.

The order: incoming file → hash → fsync → publish by rename → fsync folder → (the caller's) row → answer.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
import shutil
import stat
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from django.conf import settings

from archive.keeping.fatal import NoRoom, fault_point, watching_writes

__all__ = ["NoRoom", "Received", "TooLarge"]

_CHUNK = 1 << 20
_RESERVE_BYTES = 1 << 30
_RESERVE_SHARE = 0.05
INCOMING_KEPT_SECONDS = 24 * 3600
RECIPE_FOLDER = "1"


class TooLarge(ValueError):
    """A file is over the limit; the message names the limit."""


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
    return settings.DATA_FOLDER.media / sha256[:2] / sha256


def derived_folder(sha256: str) -> Path:
    """Return the folder of what was made from an original; it may be deleted at any time."""
    return settings.DATA_FOLDER.derived / RECIPE_FOLDER / sha256[:2] / sha256


def room_left() -> bool:
    """Say whether the disk has room above the reserve: the smaller of 1 GB and 5 % stays free for the database."""
    usage = shutil.disk_usage(settings.DATA_FOLDER.root)
    return usage.free > min(_RESERVE_BYTES, int(usage.total * _RESERVE_SHARE))


def receive(stream: BinaryIO | Iterable[bytes], limit: int) -> Received:
    """Write a stream into `incoming`, hashing and counting, and flush it to disk.

    Raises:
        TooLarge: the stream is longer than the limit (bytes).
        NoRoom: the disk is full, or only its reserve is left.
        DiskBroken: the disk failed.
    """
    if not room_left():
        raise NoRoom(28, "the disk is nearly full")
    path = settings.DATA_FOLDER.incoming / secrets.token_hex(16)
    digest, size = hashlib.sha256(), 0
    try:
        with watching_writes(), path.open("xb") as file:
            for chunk in _chunks(stream):
                size += len(chunk)
                if size > limit:
                    raise TooLarge(f"it is larger than {limit // 1_048_576} MB")
                digest.update(chunk)
                file.write(chunk)
            file.flush()
            fault_point("received")
            os.fsync(file.fileno())
    except BaseException:
        with contextlib.suppress(OSError):
            path.unlink()
        raise
    return Received(path, digest.hexdigest(), size)


def _chunks(stream: BinaryIO | Iterable[bytes]) -> Iterator[bytes]:
    if hasattr(stream, "chunks"):
        yield from stream.chunks(_CHUNK)
    elif hasattr(stream, "read"):
        while chunk := stream.read(_CHUNK):
            yield chunk
    else:
        yield from stream


def publish(received: Received) -> str:
    """Give a received file its lasting name and flush the folder; an equal file that is there already stands.

    Returns the SHA-256. Only after this may a row name the file.
    """
    goal = original_path(received.sha256)
    with watching_writes():
        if goal.is_file():
            received.discard()
            return received.sha256
        if not goal.parent.is_dir():
            goal.parent.mkdir(parents=True, exist_ok=True)
            _flush_folder(goal.parent.parent)
        received.path.chmod(stat.S_IRUSR | stat.S_IRGRP)
        fault_point("before-publish")
        received.path.replace(goal)
        fault_point("published")
        _flush_folder(goal.parent)
    return received.sha256


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
    from archive.pictures.models import Picture

    for digest in digests:
        if Picture.objects.filter(sha256=digest).exists():
            continue
        shutil.rmtree(derived_folder(digest), ignore_errors=True)
        path = original_path(digest)
        with contextlib.suppress(FileNotFoundError):
            path.chmod(stat.S_IWUSR | stat.S_IRUSR)
            path.unlink()


def sweep() -> int:
    """Remove what a broken upload left in `incoming` more than a day ago; return how many files."""
    removed = 0
    too_old = time.time() - INCOMING_KEPT_SECONDS
    for path in settings.DATA_FOLDER.incoming.iterdir():
        if path.is_file() and path.stat().st_mtime < too_old:
            path.unlink()
            removed += 1
    return removed


def damaged(digests: Iterable[str]) -> list[str]:
    """Read originals again and return the digests of those that are missing or no longer fit their name."""
    bad = []
    for digest in digests:
        path = original_path(digest)
        if not path.is_file() or digest_of(path) != digest:
            bad.append(digest)
    return bad
