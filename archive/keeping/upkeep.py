"""Due work: done after the start and when nobody has asked for anything for a minute, in slices."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from datetime import timedelta

from django.utils import timezone

from archive import extend
from archive.keeping import checking, fatal, media_store, references, snapshots
from archive.keeping.models import FileCheck, UpkeepRun

_log = logging.getLogger("kistbook")
SLICE_SECONDS = 600
IDLE_SECONDS = 60
RETRY_SECONDS = 3600
REREAD_DAYS = 30
_DAY = timedelta(hours=24)
_last_request = time.monotonic()
_not_before: dict[str, float] = {}

GoOn = Callable[[], bool]


def note_request() -> None:
    """Remember that somebody asked for a page just now."""
    global _last_request
    _last_request = time.monotonic()


def is_idle() -> bool:
    """Say whether nobody has asked for anything for a minute."""
    return time.monotonic() - _last_request >= IDLE_SECONDS


def daily_snapshot(go_on: GoOn) -> bool:
    """Take the day's snapshot and thin the old ones."""
    snapshots.take_snapshot()
    snapshots.thin()
    return True


def clear_away(go_on: GoOn) -> bool:
    """Clear away what broken uploads left, and originals that nothing has named for thirty days."""
    media_store.sweep()
    media_store.sweep_orphans([*(each.path for each in snapshots.snapshots()), *snapshots.set_aside()])
    return True


def check_database(go_on: GoOn) -> bool:
    """Check the live database from end to end."""
    checking.check_the_database()
    return True


def reread_originals(go_on: GoOn) -> bool:
    """Read originals again, the damaged and the longest unread first, so that each is read every thirty days.

    Returns False when it was interrupted before all that are due were read.
    """
    named = references.named_now()
    _forget_checks(named)
    due_before = timezone.now() - timedelta(days=REREAD_DAYS)
    rows = FileCheck.objects.values_list("sha256", "good", "checked_at")
    # 0 damaged, 1 never read, 2 read long ago, each group the oldest first.
    due = dict.fromkeys(named, (1, due_before))
    for digest, good, at in rows:
        if good and at >= due_before:
            due.pop(digest, None)
        elif digest in due:
            due[digest] = (2 if good else 0, at)
    for digest in sorted(due, key=lambda each: (*due[each], each)):
        if not go_on():
            return False
        checking.reread(digest)
    return True


def _forget_checks(named: set[str]) -> None:
    """Forget the checks of originals that are gone, a few hundred at a time."""
    gone = sorted(set(FileCheck.objects.values_list("sha256", flat=True)) - named)
    for start in range(0, len(gone), 500):
        FileCheck.objects.filter(sha256__in=gone[start : start + 500]).delete()


def _without_slices(do: Callable[[], None]) -> Callable[[GoOn], bool]:
    def whole(go_on: GoOn) -> bool:
        do()
        return True

    return whole


OUR_WORK: tuple[tuple[str, Callable[[GoOn], bool], timedelta], ...] = (
    ("daily snapshot", daily_snapshot, _DAY),
    (checking.DATABASE_CHECK, check_database, _DAY),
    ("clearing away", clear_away, _DAY),
    ("reading originals again", reread_originals, _DAY),
)


def due_work() -> list[tuple[str, Callable[[GoOn], bool]]]:
    """Return the work whose time has come, with what was missed while the computer was off."""
    work = [*OUR_WORK, *((name, _without_slices(do), _DAY) for name, do in extend.upkeep())]
    last = dict(UpkeepRun.objects.values_list("name", "last_at"))
    now, clock = timezone.now(), time.monotonic()
    return [
        (name, do)
        for name, do, every in work
        # A clock that was set back must not put work off for years.
        if (name not in last or not timedelta(0) <= now - last[name] < every) and _not_before.get(name, 0.0) <= clock
    ]


def run_due(closing: threading.Event | None = None, *, at_once: bool = False) -> list[str]:
    """Do due work for at most ten minutes; return the names of what was done.

    It ends early when Kistbook closes, when the disk has failed, or (unless `at_once`) when somebody asks for a page.
    What did not come to its end goes on at a later slice.
    """
    done: list[str] = []
    until = time.monotonic() + SLICE_SECONDS

    def go_on() -> bool:
        return (
            (closing is None or not closing.is_set())
            and time.monotonic() < until
            and (at_once or is_idle())
            and not fatal.is_broken()
        )

    if not go_on():
        return done
    for name, do in due_work():
        if not go_on():
            break
        trouble = ""
        try:
            if not do(go_on):
                continue
        except checking.Trouble as error:
            trouble = str(error)
        except Exception as error:
            _log.exception("upkeep failed: %s", name)
            # It stays due, and is tried again later rather than every two seconds.
            _not_before[name] = time.monotonic() + RETRY_SECONDS
            trouble = type(error).__name__
            UpkeepRun.objects.update_or_create(
                name=name,
                defaults={"trouble": trouble},
                create_defaults={"last_at": timezone.now() - _DAY, "trouble": trouble},
            )
            continue
        UpkeepRun.objects.update_or_create(name=name, defaults={"last_at": timezone.now(), "trouble": trouble[:300]})
        done.append(name)
    return done
