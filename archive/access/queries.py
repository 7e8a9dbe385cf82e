"""Reading accounts, invitations, histories and what was withdrawn."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.http import Http404
from django.utils import timezone

from archive.access.models import Account, ChangeSet, Invitation, Tombstone
from archive.access.subjects import Subject, subjects
from archive.access.undo import changed_fields


@dataclass(frozen=True)
class FieldChange:
    """What one field was and became, in words."""

    label: str
    before: str
    after: str


@dataclass(frozen=True)
class HistoryEntry:
    """One line of a record's history page."""

    at: datetime
    who: str
    verb: str
    change_set: ChangeSet | None
    changes: list[FieldChange]
    undone: bool


VERBS = {"+": "recorded", "~": "changed", "-": "removed"}


def accounts() -> list[Account]:
    """Return all accounts, keepers first."""
    return list(Account.objects.order_by("role", "display_name"))


def open_invitations() -> list[Invitation]:
    """Return the invitations that can still be used."""
    return list(
        Invitation.objects.filter(
            used_at__isnull=True, withdrawn_at__isnull=True, expires_at__gt=timezone.now()
        ).order_by("created_at")
    )


def find_record(subject: Subject, public_id: str, reader: Account | None) -> Any:
    """Return a record that this reader may see.

    Raises:
        Http404: there is none, or none for this reader; the two cannot be told apart.
    """
    model: Any = subject.model
    record = model.objects.visible_to(reader).filter(public_id=public_id).first()
    if record is None:
        raise Http404
    return record


def history_of(record: Any) -> list[HistoryEntry]:
    """Return what happened to a record, the newest first, each with the fields that changed."""
    rows = list(
        record.history.select_related("change_set", "change_set__who")
        .prefetch_related("change_set__undone_by")
        .order_by("history_id")
    )
    entries = []
    before: Any = None
    for row in rows:
        changes = []
        if before is not None and row.history_type == "~":
            changes = [
                FieldChange(str(f.verbose_name), in_words(before, f), in_words(row, f))
                for f in changed_fields(before, row, type(record))
            ]
        change_set = row.change_set
        entries.append(
            HistoryEntry(
                at=row.history_date,
                who=str(change_set.who) if change_set and change_set.who else "Kistbook",
                verb=VERBS[row.history_type],
                change_set=change_set,
                changes=changes,
                undone=bool(change_set and change_set.undone_by.all()),
            )
        )
        before = row
    return entries[::-1]


def in_words(row: Any, field: Any) -> str:
    """Return a column's value as a person would read it."""
    value = getattr(row, field.attname)
    if field.choices:
        value = dict(field.flatchoices).get(value, value)
    if value is None or value == "" or value == []:
        return "nothing"
    if isinstance(value, list):
        return ", ".join(str(each) for each in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def change_set(public_id: str) -> ChangeSet:
    """Return one change set.

    Raises:
        Http404: there is none.
    """
    found = ChangeSet.objects.filter(public_id=public_id).first()
    if found is None:
        raise Http404
    return found


def withdrawn_records() -> list[tuple[Subject, Any]]:
    """Return everything that is withdrawn, for the keeper."""
    found: list[tuple[Subject, Any]] = []
    for each in subjects():
        model: Any = each.model
        if any(f.name == "withdrawn_at" for f in model._meta.fields):
            found.extend((each, record) for record in model.objects.filter(withdrawn_at__isnull=False))
    return found


def tombstones() -> list[Tombstone]:
    """Return what was destroyed for good, the newest first."""
    return list(Tombstone.objects.select_related("who").order_by("-at"))
