"""Two people edit one record: what both changed without conflict is kept, the rest is asked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Conflict:
    """A field that two people changed differently."""

    name: str
    label: str
    base: Any
    theirs: Any
    mine: Any


@dataclass(frozen=True)
class Merge:
    """The values to save and the conflicts that a person has to settle first."""

    values: dict[str, Any]
    conflicts: list[Conflict]
    theirs_kept: list[str]  # fields somebody else changed meanwhile and that stay as they set them


def merge(
    base: Mapping[str, Any], theirs: Mapping[str, Any], mine: Mapping[str, Any], labels: Mapping[str, str]
) -> Merge:
    """Merge three states of a record's fields: as I opened it, as it stands now, as I want it.

    A field that only one side changed takes that side's value.
    """
    values: dict[str, Any] = {}
    conflicts: list[Conflict] = []
    theirs_kept: list[str] = []
    for name, wanted in mine.items():
        was, stands = base.get(name), theirs.get(name)
        if wanted in (was, stands) or stands == was:
            values[name] = stands if wanted == was else wanted
            if wanted == was != stands:
                theirs_kept.append(labels.get(name, name))
        else:
            conflicts.append(Conflict(name, labels.get(name, name), was, stands, wanted))
    return Merge(values, conflicts, theirs_kept)


def state_at(record: Any, version: int, names: Iterable[str]) -> dict[str, Any] | None:
    """Return some fields of a record as they stood at a version, or None when its history has no such version."""
    row = record.history.filter(version=version).order_by("history_id").first()
    return {name: getattr(row, name) for name in names} if row is not None else None


def merge_typed(record: Any, typed: Mapping[str, Any], labels: Mapping[str, str], opened: str) -> Merge:
    """Merge what somebody typed into a record that may have changed since they opened it at version ``opened``."""
    theirs = {name: getattr(record, name) for name in typed}
    base = state_at(record, int(opened), typed) if opened.isdecimal() else None
    return merge(base if base is not None else theirs, theirs, typed, labels)
