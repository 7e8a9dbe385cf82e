"""Reading the whole archive again because the keeper asked: the database, then every original."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from archive.keeping import media_store, references
from archive.keeping.errands.registry import register
from archive.keeping.models import FileCheck, UpkeepRun
from archive.keeping.snapshots import check_database

if TYPE_CHECKING:
    from archive.keeping.errands.worker import Task

KIND = "check-archive"
DATABASE_CHECK = "checking the database"


class Trouble(RuntimeError):
    """Something is not sound; the sentence names no thing and nobody."""


def check_the_database() -> None:
    """Check the live database from end to end and keep the result for the health page.

    Raises:
        Trouble: it is damaged.
    """
    troubles = check_database(settings.DATA_FOLDER.database, live=True)
    UpkeepRun.objects.update_or_create(
        name=DATABASE_CHECK, defaults={"last_at": timezone.now(), "trouble": "; ".join(troubles)[:300]}
    )
    if troubles:
        raise Trouble(troubles[0])


def reread(digest: str) -> bool:
    """Read one original again, keep the result, and say whether it still fits its name."""
    good = not media_store.damaged([digest])
    FileCheck.objects.update_or_create(sha256=digest, defaults={"checked_at": timezone.now(), "good": good})
    return good


def check_all(task: Task) -> None:
    """The errand: it goes on after a kill from the original it had come to."""
    check_the_database()
    named = sorted(references.named_now())
    at, bad = task.payload.get("at", ""), int(task.payload.get("bad", 0))
    task.progress(0, len(named), "The database is sound.")
    for position, digest in enumerate(named, 1):
        if digest > at:
            bad += not reread(digest)
            if position % 50 == 0:
                task.checkpoint(at=digest, bad=bad)
        task.progress(position, len(named), f"The database is sound. Files read: {position} of {len(named)}.")
    task.leads_to(reverse("keeping:health"))
    task.end_with(f"The database is sound. {len(named)} files read, {bad} of them damaged or missing.")


register(KIND, check_all)
