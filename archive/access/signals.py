"""Ties every history row to the change set that is open; a write outside one is a mistake of ours.

A record is read before its change set has its turn to write. What somebody else saved in between shows by its version,
which then stands in the history already.
"""

from __future__ import annotations

from typing import Any

from django.dispatch import receiver
from simple_history.signals import pre_create_historical_record

from archive.access.changes import ChangedMeanwhile, current_change_set
from archive.access.models import ChangeSet


class WriteOutsideChange(RuntimeError):
    """A record was written outside a `changing` block."""


@receiver(pre_create_historical_record)
def tie_to_change_set(sender: Any, instance: Any, history_instance: Any, **kwargs: Any) -> None:
    change_set = current_change_set()
    if change_set is None:
        raise WriteOutsideChange(f"{type(history_instance).__name__} written outside `changing`")
    if instance.__dict__.pop("counted_up", False) and _is_told_already(history_instance, change_set):
        raise ChangedMeanwhile(f"{type(history_instance).__name__} was changed since it was read")
    history_instance.change_set = change_set


def _is_told_already(row: Any, change_set: ChangeSet) -> bool:
    """Say whether another act has brought the same record to the same version."""
    key = row.instance_type._meta.pk.attname
    same = type(row)._base_manager.filter(**{key: getattr(row, key)}, version=row.version)
    return bool(same.exclude(change_set=change_set).exists())
