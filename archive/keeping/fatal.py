"""After an input/output error on a write the archive takes no more writes: a failed fsync may have lost data.

Source: Rebello et al., "Can Applications Recover from fsync Failures?", USENIX ATC 2020 (abstract).
"""

from __future__ import annotations

import errno
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager

_broken = threading.Event()


class DiskBroken(OSError):
    """The disk failed while writing; nothing more is written until a restart and a check."""


class NoRoom(OSError):
    """The disk is full, or nearly."""


def is_broken() -> bool:
    """Say whether a write has failed for good since the start."""
    return _broken.is_set()


def mark_broken() -> None:
    """Refuse all writes from now on."""
    _broken.set()


@contextmanager
def watching_writes() -> Iterator[None]:
    """Turn a failing disk into `DiskBroken` and a full one into `NoRoom`."""
    if is_broken():
        raise DiskBroken(errno.EIO, "the disk failed earlier; restart Kistbook and check the archive")
    try:
        yield
    except OSError as error:
        if error.errno == errno.EIO:
            mark_broken()
            raise DiskBroken(errno.EIO, "the disk failed while writing") from error
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            raise NoRoom(error.errno, "the disk is full") from error
        raise


def fault_point(name: str) -> None:
    """End the process here when the kill harness asks for it (KISTBOOK_FAULT=name); otherwise do nothing."""
    if os.environ.get("KISTBOOK_FAULT") == name:
        os._exit(137)
