"""Many rows of one table at once, each with its history row in the change set that is open.

The rows are written without `save()` and `delete()`: columns that `save()` works out (folded names) must be set by the
caller, checks that it makes are the caller's, and no signals are sent.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db import models, router
from django.db.models import F
from django.db.models.deletion import Collector
from django.utils import timezone

from archive.access.changes import current_change_set
from archive.access.signals import WriteOutsideChange

_BATCH = 400
# Rows that are to have the same values are written by one statement each, as long as there are no more sets than this.
_SETS_AT_MOST = 40


def saves_plainly(model: Any) -> bool:
    """Say whether rows may be written without their own `save()`: it adds nothing, and they count versions."""
    return model.save is models.Model.save and any(f.name == "version" for f in model._meta.concrete_fields)


def create_many(rows: Sequence[Any]) -> list[Any]:
    """Write new rows, with their histories; rows that have a key keep it.

    Raises:
        WriteOutsideChange: no change set is open.
    """
    if not rows:
        return []
    made: list[Any] = type(rows[0])._base_manager.bulk_create(rows, batch_size=_BATCH)
    _note(made, "+")
    return made


def change_many(rows: Sequence[Any], names: Sequence[str]) -> None:
    """Write some columns of rows, with their histories; version and time of change go up.

    The rows must have been read in the transaction that is open, so that their histories are true.

    Raises:
        WriteOutsideChange: no change set is open.
    """
    if not rows:
        return
    model, now = type(rows[0]), timezone.now()
    columns = [model._meta.get_field(name).attname for name in names]
    sets: dict[str, list[Any]] = {}
    for row in rows:
        row.version += 1
        row.changed_at = now
        sets.setdefault(repr([getattr(row, column) for column in columns]), []).append(row)
    if len(sets) <= _SETS_AT_MOST:
        for some in sets.values():
            values = {column: getattr(some[0], column) for column in columns}
            for start in range(0, len(some), _BATCH):
                keys = [row.pk for row in some[start : start + _BATCH]]
                model._base_manager.filter(pk__in=keys).update(**values, version=F("version") + 1, changed_at=now)
    else:
        model._base_manager.bulk_update(rows, [*names, "version", "changed_at"], batch_size=_BATCH)
    _note(rows, "~")


def delete_many(rows: Sequence[Any]) -> None:
    """Take rows out, with their histories.

    Raises:
        WriteOutsideChange: no change set is open.
        django.db.models.ProtectedError: something hangs on one of them; nothing is taken out.
    """
    if not rows:
        return
    model = type(rows[0])
    using = router.db_for_write(model)
    collector = Collector(using=using)
    collector.collect(list(rows))
    if set(collector.data) != {model} or collector.field_updates:
        collector.delete()  # what goes with them has signals and histories of its own
        return
    _note(rows, "-")
    for queryset in collector.fast_deletes:
        queryset._raw_delete(using=using)
    for start in range(0, len(rows), _BATCH):
        keys = [row.pk for row in rows[start : start + _BATCH]]
        model._base_manager.filter(pk__in=keys)._raw_delete(using=using)


def _note(rows: Sequence[Any], history_type: str) -> None:
    """Write the history rows: ``+`` recorded, ``~`` changed, ``-`` removed."""
    change_set = current_change_set()
    if change_set is None:
        raise WriteOutsideChange("many rows written outside `changing`")
    history: Any = type(rows[0]).history.model
    history._base_manager.bulk_create(
        [
            history(
                history_date=timezone.now(),
                history_type=history_type,
                change_set=change_set,
                **{f.attname: getattr(row, f.attname) for f in history.tracked_fields},
            )
            for row in rows
        ],
        batch_size=_BATCH,
    )
