"""Asking for snapshots, restores, errands and reports."""

from __future__ import annotations

import contextlib
import sqlite3
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction

from archive.access.models import Account
from archive.keeping import checking, opening
from archive.keeping.errands import worker
from archive.keeping.models import Errand
from archive.keeping.queries import report_lines
from archive.keeping.snapshots import BadSnapshot, Snapshot, check_database, migrations_in, take_snapshot


def snapshot_now() -> Snapshot:
    """Take a snapshot because the keeper asked."""
    return take_snapshot("by-hand")


def ask_restore(snapshot: Snapshot) -> None:
    """Have a snapshot put back at a restart that is asked for at once; today's state is kept as a snapshot first.

    Raises:
        BadSnapshot: the snapshot is damaged, or was written by newer code.
    """
    troubles = check_database(snapshot.path)
    if not troubles and opening.unknown_changes(migrations_in(snapshot.path)):
        troubles = ["it was written by a newer Kistbook"]
    if troubles:
        raise BadSnapshot(f"{snapshot.title} cannot be used: {troubles[0]}.")
    # A damaged database cannot be copied whole, but that is when a snapshot is needed; restoring sets it aside.
    with contextlib.suppress(BadSnapshot, sqlite3.DatabaseError):
        take_snapshot("before-restore")
    opening.ask_restore(snapshot.name)


def send_errand(who: Account | None, kind: str, title: str, payload: dict[str, Any]) -> Errand:
    """Put an errand in the queue and wake the worker once it is saved."""
    errand = Errand.objects.create(kind=kind, title=title, payload=payload, created_by=who)
    transaction.on_commit(worker.wake)
    return errand


def check_everything(who: Account | None) -> Errand:
    """Have the database and every original read from end to end; one such errand at a time is enough."""
    under_way = Errand.objects.filter(kind=checking.KIND).exclude(state__in=Errand.OVER).first()
    return under_way or send_errand(who, checking.KIND, "Reading the whole archive again", {})


def ask_stop(errand: Errand) -> None:
    """Ask an errand to stop at its next step."""
    Errand.objects.filter(pk=errand.pk).exclude(state__in=Errand.OVER).update(stop_asked=True)


def write_report() -> Path:
    """Write the problem report into `exports` and return its path."""
    path: Path = settings.DATA_FOLDER.exports / f"problem-report-{datetime.now(UTC):%Y%m%dT%H%M%S}.txt"
    path.write_text("\n".join(report_lines()) + "\n", encoding="utf-8")
    return path
