"""After an input/output error on a write the archive takes no more writes: a failed fsync may have lost data.

Source: Rebello et al., "Can Applications Recover from fsync Failures?", USENIX ATC 2020 (abstract).
"""

from __future__ import annotations

import errno
import os
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

FAULT_VARIABLE = "KISTBOOK_FAULT"
_broken = threading.Event()
_passed: Counter[str] = Counter()


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


def refuse_if_broken() -> None:
    """Stand before every write.

    Raises:
        DiskBroken: an earlier write failed for good.
    """
    if is_broken():
        raise DiskBroken(errno.EIO, "the disk failed earlier; restart Kistbook and check the archive")


@contextmanager
def watching_writes() -> Iterator[None]:
    """Turn a failing disk into `DiskBroken` and a full one into `NoRoom`."""
    refuse_if_broken()
    try:
        yield
    except OSError as error:
        if error.errno == errno.EIO:
            mark_broken()
            raise DiskBroken(errno.EIO, "the disk failed while writing") from error
        if error.errno in (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)):
            raise NoRoom(error.errno, "the disk is full") from error
        raise


def fault_point(name: str) -> None:
    """End the process here when the kill harness asks for it; otherwise do nothing.

    ``KISTBOOK_FAULT=name`` ends it the first time the point is passed, ``KISTBOOK_FAULT=name:n`` the nth time.
    """
    asked = os.environ.get(FAULT_VARIABLE)
    if not asked:
        return
    wanted, _, times = asked.partition(":")
    if wanted == name:
        _passed[name] += 1
        if _passed[name] >= int(times or 1):
            os._exit(137)
