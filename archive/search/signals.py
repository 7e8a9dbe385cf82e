"""Ties the index to what changes records. Rows erased for good leave no history, so their going is heard here."""

from __future__ import annotations

from typing import Any

from django.db.models.signals import post_delete

from archive.access.changes import before_commit
from archive.search import actions
from archive.search.sources import SOURCES, touched_by


def _gone(sender: Any, instance: Any, **kwargs: Any) -> None:
    for subject, record_id in touched_by(instance):
        actions.note_changed(subject, [record_id])


for _source in SOURCES:
    post_delete.connect(_gone, sender=_source.model, dispatch_uid=f"search index {_source.model.__name__}")
before_commit(actions.follow_change_set)
