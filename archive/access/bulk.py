"""Many rows at once, each with its history row in the change set that is open.

The rows are written without `save()`: columns that `save()` works out (folded names) must be set by the caller, and
no signals are sent.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.utils import timezone
from simple_history.utils import bulk_create_with_history, bulk_update_with_history

from archive.access.changes import current_change_set
from archive.access.models import ChangeSet
from archive.access.signals import WriteOutsideChange

_BATCH = 500


def create_many(rows: Sequence[Any]) -> list[Any]:
    """Write new rows of one table, with their histories.

    Raises:
        WriteOutsideChange: no change set is open.
    """
    if not rows:
        return []
    tied = {"change_set": _open()}
    made: list[Any] = bulk_create_with_history(
        list(rows), type(rows[0]), batch_size=_BATCH, custom_historical_attrs=tied
    )
    return made


def change_many(rows: Sequence[Any], names: Sequence[str]) -> None:
    """Write some columns of rows of one table, with their histories; version and time of change go up.

    Raises:
        WriteOutsideChange: no change set is open.
    """
    if not rows:
        return
    tied, now = {"change_set": _open()}, timezone.now()
    for row in rows:
        row.version += 1
        row.changed_at = now
    bulk_update_with_history(
        list(rows),
        type(rows[0]),
        [*names, "version", "changed_at"],
        batch_size=_BATCH,
        custom_historical_attrs=tied,
    )


def _open() -> ChangeSet:
    found = current_change_set()
    if found is None:
        raise WriteOutsideChange("many rows written outside `changing`")
    return found
