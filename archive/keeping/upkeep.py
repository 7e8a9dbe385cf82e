"""Due work: done after the start and when nobody has asked for anything for a minute, in slices."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from datetime import timedelta

from django.utils import timezone

from archive import extend
from archive.keeping import media_store, snapshots
from archive.keeping.models import FileCheck, UpkeepRun

_log = logging.getLogger("kistbook")
SLICE_SECONDS = 600
IDLE_SECONDS = 60
REREAD_DAYS = 30
_last_request = time.monotonic()


def note_request() -> None:
    """Remember that somebody asked for a page just now."""
    global _last_request
    _last_request = time.monotonic()


def is_idle() -> bool:
    """Say whether nobody has asked for anything for a minute."""
    return time.monotonic() - _last_request >= IDLE_SECONDS


def daily_snapshot() -> None:
    """Take the day's snapshot and thin the old ones."""
    snapshots.take_snapshot()
    snapshots.thin()


def sweep_incoming() -> None:
    """Clear away what broken uploads left."""
    media_store.sweep()


def reread_originals() -> None:
    """Read a slice of the originals again, the longest unread first, so that each is read every thirty days."""
    from archive.pictures.models import Picture

    known = set(Picture.objects.values_list("sha256", flat=True))
    last = dict(FileCheck.objects.values_list("sha256", "checked_at"))
    FileCheck.objects.exclude(sha256__in=known).delete()
    due_before = timezone.now() - timedelta(days=REREAD_DAYS)
    due = sorted((d for d in known if d not in last or last[d] < due_before), key=lambda d: (d in last, last.get(d), d))
    until = time.monotonic() + SLICE_SECONDS / 2
    for digest in due:
        good = not media_store.damaged([digest])
        FileCheck.objects.update_or_create(sha256=digest, defaults={"checked_at": timezone.now(), "good": good})
        if time.monotonic() > until:
            break


OUR_WORK: tuple[tuple[str, Callable[[], None], timedelta], ...] = (
    ("daily snapshot", daily_snapshot, timedelta(hours=24)),
    ("sweeping", sweep_incoming, timedelta(hours=24)),
    ("reading originals again", reread_originals, timedelta(hours=24)),
)


def due_work() -> list[tuple[str, Callable[[], None]]]:
    """Return the work whose time has come, with what was missed while the computer was off."""
    work = [*OUR_WORK, *((name, do, timedelta(hours=24)) for name, do in extend.upkeep())]
    last = dict(UpkeepRun.objects.values_list("name", "last_at"))
    now = timezone.now()
    return [(name, do) for name, do, every in work if name not in last or now - last[name] >= every]


def run_due(closing: threading.Event | None = None, *, at_once: bool = False) -> list[str]:
    """Do due work for at most ten minutes; return the names of what was done."""
    done: list[str] = []
    until = time.monotonic() + SLICE_SECONDS
    for name, do in due_work():
        if (closing is not None and closing.is_set()) or time.monotonic() > until:
            break
        if not at_once and not is_idle():
            break
        trouble = ""
        try:
            do()
        except Exception as error:
            _log.exception("upkeep failed: %s", name)
            trouble = type(error).__name__
        UpkeepRun.objects.update_or_create(name=name, defaults={"last_at": timezone.now(), "trouble": trouble})
        done.append(name)
    return done
