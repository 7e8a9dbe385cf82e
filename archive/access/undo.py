"""Undo: the inverse of a change set, while nothing later touched the same fields."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.db import models
from django.db.models.deletion import ProtectedError, RestrictedError
from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account, ChangeSet, recorded_models
from archive.access.records import CannotBe

# Columns that say when, how often and whether it was read, not what; undo leaves them or writes them anew.
BOOKKEEPING = {"version", "changed_at", "created_at", "seen_by_keeper"}


@dataclass(frozen=True)
class Clash:
    """A field that something later touched: what undo would put back, and what stands there now."""

    record: str
    field: str
    old: Any
    now: Any


class CannotUndo(Exception):
    """A change set cannot be undone; the clashes say why not and hold the old values."""

    def __init__(self, clashes: list[Clash]) -> None:
        super().__init__("; ".join(f"{c.record}: {c.field}" for c in clashes))
        self.clashes = clashes


@dataclass
class _Row:
    """A record as it will stand once everything that is planned so far has been put back."""

    record: Any
    revived: bool = False
    values: dict[str, Any] = field(default_factory=dict)

    def now(self, name: str) -> Any:
        return self.values.get(name, getattr(self.record, name))


class NotAllowed(CannotUndo):
    """A rule of the archive forbids an act, whoever asks for it; ``sentence`` says why, for the page."""

    def __init__(self, sentence: str, clashes: list[Clash]) -> None:
        super().__init__(clashes)
        self.args = (sentence,)
        self.sentence = sentence


@dataclass
class _Plan:
    rows: dict[tuple[str, Any], _Row] = field(default_factory=dict)
    deletes: list[Any] = field(default_factory=list)
    clashes: list[Clash] = field(default_factory=list)


def rows_of(change_set: ChangeSet) -> list[Any]:
    """Return the history rows that a change set wrote, over all tables, in the order they were written."""
    rows: list[Any] = []
    for model in recorded_models():
        rows.extend(model.history.filter(change_set=change_set))  # type: ignore[attr-defined]
    return sorted(rows, key=lambda row: (row.history_date, row.history_id))


def fields_of(model: type[models.Model]) -> list[models.Field[Any, Any]]:
    """Return a record's own columns that a person can change."""
    return [
        f
        for f in model._meta.concrete_fields
        if not f.primary_key and f.name not in BOOKKEEPING and f.name != "public_id"
    ]


def changed_fields(before: Any, after: Any, model: type[models.Model]) -> list[models.Field[Any, Any]]:
    """Return the columns in which two history rows differ."""
    return [f for f in fields_of(model) if getattr(before, f.attname) != getattr(after, f.attname)]


def undo(change_set: ChangeSet, who: Account) -> ChangeSet:
    """Apply the inverse of a change set as a change set of its own (so undo can be undone).

    Raises:
        CannotUndo: something later touched the same fields, hangs on what would vanish, or does not allow it any more.
    """
    with changing(who, "access.undo", undoes=change_set) as inverse:
        plan = _Plan()
        for row in reversed(rows_of(change_set)):
            _plan_row(row, plan)
        if plan.clashes:
            raise CannotUndo(plan.clashes)
        for row in (each for each in plan.rows.values() if each.revived):
            _save(row.record, force_insert=True)
        for row in (each for each in plan.rows.values() if each.values):
            for name, value in row.values.items():
                setattr(row.record, name, value)
            _stamp(row.record)
            _save(row.record)
        for record in plan.deletes:
            name = str(record)
            try:
                record.delete()
            except (ProtectedError, RestrictedError) as error:
                blockers = list(getattr(error, "protected_objects", ())) or list(
                    getattr(error, "restricted_objects", ())
                )
                raise CannotUndo([Clash(name, "record", None, f"in use: {blockers[0]}")]) from None
    return inverse


def _save(record: Any, **options: Any) -> None:
    try:
        record.save(**options)
    except CannotBe as error:
        raise CannotUndo([Clash(str(record), "record", None, str(error))]) from None


def _stamp(record: Any) -> None:
    if hasattr(record, "version"):
        record.version += 1
        record.changed_at = timezone.now()


def _plan_row(row: Any, plan: _Plan) -> None:
    """Plan the inverse of one history row; a record that one act saved twice is followed back step by step."""
    model: type[Any] = row.instance_type
    key = (model._meta.label, getattr(row, model._meta.pk.attname))
    if key not in plan.rows:
        found = model._default_manager.filter(pk=key[1]).first()
        if found is not None:
            plan.rows[key] = _Row(found)
    now = plan.rows.get(key)
    if row.history_type == "-":
        if now is None:
            plan.rows[key] = _Row(_revived(row, model), revived=True)
        return
    if now is None:
        plan.clashes.append(Clash(str(row), "record", None, "no longer there"))
        return
    if row.history_type == "+":
        for f in fields_of(model):
            if now.now(f.attname) != getattr(row, f.attname):
                plan.clashes.append(Clash(str(now.record), str(f.verbose_name), None, now.now(f.attname)))
        plan.deletes.append(now.record)
        now.values = {}
        return
    before = row.prev_record
    if before is None:
        return
    for f in changed_fields(before, row, model):
        stands = now.now(f.attname)
        if stands != getattr(row, f.attname):
            plan.clashes.append(Clash(str(now.record), str(f.verbose_name), getattr(before, f.attname), stands))
        now.values[f.attname] = getattr(before, f.attname)


def _revived(row: Any, model: type[Any]) -> Any:
    """Return a deleted record as its last history row has it."""
    return model(**{f.attname: getattr(row, f.attname) for f in model._meta.concrete_fields})
