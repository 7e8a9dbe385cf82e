"""Reading accounts, invitations, histories and what was withdrawn."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db.models import Q
from django.http import Http404
from django.utils import timezone

from archive.access.history_words import said, told, with_article
from archive.access.models import Account, ChangeSet, Invitation, Tombstone
from archive.access.records import ReadAccess, owners_of
from archive.access.subjects import Subject, subjects
from archive.access.undo import changed_fields


@dataclass(frozen=True)
class FieldChange:
    """What one field was and became, in words."""

    label: str
    before: str
    after: str


@dataclass(frozen=True)
class RecordChange:
    """What one act did to the record itself or to something that belongs to it (a picture)."""

    what: str
    verb: str
    changes: list[FieldChange]


@dataclass
class HistoryEntry:
    """One act on a record's history page: everything that one change set did."""

    at: datetime
    who: str
    change_set: ChangeSet | None
    undone: bool
    began: bool = False  # the record itself was recorded by it
    lines: list[RecordChange] = field(default_factory=list)


ACTS_ON_A_PAGE = 100
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


def history_of(record: Any, reader: Account | None) -> list[HistoryEntry]:
    """Return what happened to a record and to what belongs to it, the newest first, an entry for each act.

    Columns and rows that a table keeps for the keeper (``KEEPERS_COLUMNS``, ``KEEPERS_ROWS``) are told to nobody else,
    and records that this reader may not see are not named. What was written while the record was the keeper's alone
    stays theirs, also in what it was changed from.
    """
    entries: dict[Any, HistoryEntry] = {}
    keeper = reader is not None and reader.is_keeper
    names = _Names(reader)
    shut: list[tuple[datetime, bool]] = []  # since when the record was the keeper's alone, and since when not
    for model, rows in _rows_with_belongings(record, reader):
        if getattr(model, "KEEPERS_ROWS", False) and not keeper:
            continue
        hidden = () if keeper else getattr(model, "KEEPERS_COLUMNS", ())
        before: dict[Any, Any] = {}
        for row in rows:
            key = getattr(row, model._meta.pk.attname)
            change_set = row.change_set
            entry = entries.setdefault(
                change_set.pk if change_set else row.history_date,
                HistoryEntry(
                    at=row.history_date,
                    who=str(change_set.who) if change_set and change_set.who else "Kistbook",
                    change_set=change_set,
                    undone=bool(change_set and change_set.undone_by.all()),
                ),
            )
            own = model is type(record)
            if own:
                shut.append((row.history_date, _is_shut(row)))
            entry.began |= own and row.history_type == "+"
            what = "it" if own else with_article(str(model._meta.verbose_name))
            is_told = row.history_type == "~" and (keeper or not _was_shut(shut, row.history_date, own))
            changes = _changes(before.get(key), row, model, hidden, names) if is_told else []
            line = RecordChange(what, VERBS[row.history_type], changes)
            if changes or line not in entry.lines:
                entry.lines.append(line)
            before[key] = row
    return sorted(entries.values(), key=lambda entry: entry.at, reverse=True)


def _is_shut(row: Any) -> bool:
    """Say whether a record, as a history row has it, was the keeper's alone."""
    closed_until = getattr(row, "closed_until", None)
    return (
        getattr(row, "access", "") == ReadAccess.KEEPER
        or getattr(row, "withdrawn_at", None) is not None
        or (closed_until is not None and closed_until > timezone.localdate())
    )


def _was_shut(shut: list[tuple[datetime, bool]], at: datetime, own: bool) -> bool:
    """Say whether the record was the keeper's alone at a time; for a change of its own, before or after it."""
    until_then = [flag for since, flag in shut if since <= at]
    return any(until_then[-2:] if own else until_then[-1:])


def _rows_with_belongings(record: Any, reader: Account | None) -> list[tuple[Any, list[Any]]]:
    """Return the history rows of a record, then those of each table whose rows belong to it, in their order.

    A row that ties it to another record is told only to whoever may see that one too.
    """
    models = [(type(record), Q(**{type(record)._meta.pk.name: record.pk}))]
    for relation in record._meta.related_objects:
        if relation.field.name in owners_of(relation.related_model):
            which = Q(**{relation.field.attname: record.pk})
            for other in set(owners_of(relation.related_model)) - {relation.field.name}:
                which &= _visible(relation.related_model._meta.get_field(other), reader)
            models.append((relation.related_model, which))
    return [
        (
            model,
            list(
                model.history.filter(which)
                .select_related("change_set", "change_set__who")
                .prefetch_related("change_set__undone_by")
                .order_by("history_id")
            ),
        )
        for model, which in models
    ]


def _visible(column: Any, reader: Account | None) -> Q:
    """Return the condition that what a history row's column points at is nothing, or something this reader may see."""
    records = column.related_model._default_manager.all()
    if (reader is not None and reader.is_keeper) or not hasattr(records, "visible_to"):
        return Q()
    return Q(**{f"{column.attname}__isnull": True}) | Q(
        **{f"{column.attname}__in": records.visible_to(reader).values("pk")}
    )


def _changes(before: Any, row: Any, model: Any, hidden: Iterable[str], names: _Names) -> list[FieldChange]:
    if before is None:
        return []
    changed = changed_fields(before, row, model)
    all_names = {each.name for each in changed}
    return [
        FieldChange(str(each.verbose_name), names.in_words(before, each), names.in_words(row, each))
        for each in changed
        if each.name not in hidden and told(all_names, each.name)
    ]


class _Names:
    """Says columns in words for one reader; records that columns point at are looked up once and named if visible."""

    def __init__(self, reader: Account | None) -> None:
        self.reader = reader
        self.found: dict[tuple[Any, Any], str] = {}

    def in_words(self, row: Any, column: Any) -> str:
        """Return a column's value as a person would read it."""
        value = getattr(row, column.attname)
        if column.is_relation and value is not None:
            return self._name(column.related_model, value)
        if column.name == "united_with" and value:
            return self._name(type(row).instance_type, value, by="public_id")
        if column.choices and value in dict(column.flatchoices):
            return str(dict(column.flatchoices)[value]) if value != "" else "nothing"
        return said(column.name, value)

    def _name(self, model: Any, pk: Any, by: str = "pk") -> str:
        if (model, pk) not in self.found:
            rows = model._default_manager.all()
            if hasattr(rows, "visible_to"):
                rows = rows.visible_to(self.reader)
            record = rows.filter(**{by: pk}).first()
            self.found[model, pk] = str(record) if record is not None else "something that is not open to you"
        return self.found[model, pk]


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
