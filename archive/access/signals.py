"""Ties every history row to the change set that is open; a write outside one is a mistake of ours."""

from __future__ import annotations

from typing import Any

from django.dispatch import receiver
from simple_history.signals import pre_create_historical_record

from archive.access.changes import current_change_set


class WriteOutsideChange(RuntimeError):
    """A record was written outside a `changing` block."""


@receiver(pre_create_historical_record)
def tie_to_change_set(sender: Any, history_instance: Any, **kwargs: Any) -> None:
    change_set = current_change_set()
    if change_set is None:
        raise WriteOutsideChange(f"{type(history_instance).__name__} written outside `changing`")
    history_instance.change_set = change_set
