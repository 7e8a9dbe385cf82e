"""Two people edit one record: what both changed without conflict is kept, the rest is asked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

_LONGEST_VERSION = 9  # digits; a form may send anything


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


def row_at(history: Any, opened: str) -> Any:
    """Return the row of a record's history with the version that a form was opened at; None where it names none."""
    if not opened.isdecimal() or len(opened) > _LONGEST_VERSION:
        return None
    return history.filter(version=int(opened)).order_by("history_id").first()


def state_at(record: Any, opened: str, names: Iterable[str]) -> dict[str, Any] | None:
    """Return some fields of a record as they stood at the version a form was opened at; None where it names none."""
    row = row_at(record.history, opened)
    return {name: getattr(row, name) for name in names} if row is not None else None


def merge_typed(record: Any, typed: Mapping[str, Any], labels: Mapping[str, str], opened: str) -> Merge:
    """Merge what somebody typed into a record that may have changed since they opened it at version ``opened``."""
    theirs = {name: getattr(record, name) for name in typed}
    base = state_at(record, opened, typed)
    return merge(base if base is not None else theirs, theirs, typed, labels)
