"""Undo: the inverse of a change set, while nothing later touched the same fields."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from django.db import IntegrityError, models
from django.db.models import OuterRef, Subquery
from django.db.models.deletion import ProtectedError, RestrictedError

from archive.access.bulk import change_many, create_many, delete_many, saves_plainly
from archive.access.changes import changing
from archive.access.history_words import said, told
from archive.access.models import Account, ChangeSet, recorded_models
from archive.access.records import CannotBe, touch

# Columns that say when, how often and whether it was read, not what; undo leaves them or writes them anew.
BOOKKEEPING = {"version", "changed_at", "created_at", "seen_by_keeper"}

_AT_ONCE = 400


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
    # Of each row that tells of a change, by table and history id: the row before it.
    before: dict[tuple[str, Any], Any] = field(default_factory=dict)


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
    try:
        return _undo(change_set, who)
    except IntegrityError:
        # A row that may stand once only: it was made anew since, by another act.
        told = sorted({str(row.instance_type._meta.verbose_name) for row in rows_of(change_set)})
        clash = Clash(", ".join(told), "record", None, "another that says the same is there now")
        raise CannotUndo([clash]) from None


def _undo(change_set: ChangeSet, who: Account) -> ChangeSet:
    with changing(who, "access.undo", undoes=change_set) as inverse:
        rows = rows_of(change_set)
        plan = _loaded(rows)
        for row in reversed(rows):
            _plan_row(row, plan)
        if plan.clashes:
            raise CannotUndo(plan.clashes)
        for model, some in _by_model(row.record for row in plan.rows.values() if row.revived):
            _create(model, some)
        for row in plan.rows.values():
            for name, value in row.values.items():
                setattr(row.record, name, value)
        changed = [row for row in plan.rows.values() if row.values]
        for model, some in _by_model(row.record for row in changed):
            _change(model, some, sorted({name for row in changed if type(row.record) is model for name in row.values}))
        for model, some in _by_model(plan.deletes):
            _delete(model, some)
    return inverse


def _loaded(rows: list[Any]) -> _Plan:
    """Return an empty plan with the records as they stand and the rows before, in a few queries however many rows."""
    plan = _Plan()
    by_model: dict[Any, list[Any]] = {}
    for row in rows:
        by_model.setdefault(row.instance_type, []).append(row)
    for model, some in by_model.items():
        key, label = model._meta.pk.attname, model._meta.label
        found = model._default_manager.in_bulk({getattr(row, key) for row in some})
        plan.rows |= {(label, pk): _Row(record) for pk, record in found.items()}
        changed = [row.history_id for row in some if row.history_type == "~"]
        for start in range(0, len(changed), _AT_ONCE):
            plan.before |= _before(model, changed[start : start + _AT_ONCE])
    return plan


def _before(model: Any, history_ids: list[Any]) -> dict[tuple[str, Any], Any]:
    """Return for some history rows of a table the rows before them."""
    key = model._meta.pk.attname
    earlier = model.history.filter(**{key: OuterRef(key)}, history_id__lt=OuterRef("history_id"))
    newest = earlier.order_by("-history_id").values("history_id")[:1]
    pairs = model.history.filter(history_id__in=history_ids).annotate(before=Subquery(newest))
    ids = dict(pairs.values_list("history_id", "before"))
    rows = model.history.in_bulk([each for each in ids.values() if each is not None])
    return {(model._meta.label, now): rows[before] for now, before in ids.items() if before in rows}


def _by_model(records: Iterable[Any]) -> Iterator[tuple[Any, list[Any]]]:
    """Return records in their order, those of one table that follow each other together."""
    for model, some in groupby(records, key=type):
        yield model, list(some)


def _create(model: Any, records: list[Any]) -> None:
    if saves_plainly(model):
        create_many(records)
        return
    for record in records:
        _save(record, force_insert=True)


def _change(model: Any, records: list[Any], names: list[str]) -> None:
    if saves_plainly(model):
        change_many(records, names)
        return
    for record in records:
        touch(record)
        _save(record)


def _delete(model: Any, records: list[Any]) -> None:
    """Delete records of one table, many at once where none of them can hang on another; else one after the other."""
    hangs = any(f.related_model is model for f in model._meta.concrete_fields if f.is_relation)
    step = 1 if hangs else _AT_ONCE
    for start in range(0, len(records), step):
        some = records[start : start + step]
        try:
            delete_many(some)
        except (ProtectedError, RestrictedError) as error:
            if len(some) > 1:  # which of them it is
                for record in some:
                    _delete(model, [record])
            blockers = list(getattr(error, "protected_objects", ())) or list(getattr(error, "restricted_objects", ()))
            raise CannotUndo([Clash(str(some[0]), "record", None, f"in use: {blockers[0]}")]) from None


def _save(record: Any, **options: Any) -> None:
    try:
        record.save(**options)
    except CannotBe as error:
        raise CannotUndo([Clash(str(record), "record", None, str(error))]) from None


def _plan_row(row: Any, plan: _Plan) -> None:
    """Plan the inverse of one history row; a record that one act saved twice is followed back step by step."""
    model: type[Any] = row.instance_type
    key = (model._meta.label, getattr(row, model._meta.pk.attname))
    now = plan.rows.get(key)
    if row.history_type == "-":
        if now is None:
            plan.rows[key] = _Row(_revived(row, model), revived=True)
        return
    if now is None:
        plan.clashes.append(Clash(str(row), "record", None, "no longer there"))
        return
    if row.history_type == "+":
        names = {f.name for f in fields_of(model)}
        for f in fields_of(model):
            if now.now(f.attname) != getattr(row, f.attname) and told(names, f.name):
                plan.clashes.append(Clash(str(now.record), str(f.verbose_name), None, _words(f, now.now(f.attname))))
        plan.deletes.append(now.record)
        now.values = {}
        return
    before = plan.before.get((key[0], row.history_id))
    if before is None:
        return
    changed = changed_fields(before, row, model)
    names = {f.name for f in changed}
    for f in changed:
        old, stands = getattr(before, f.attname), now.now(f.attname)
        if stands != getattr(row, f.attname) and told(names, f.name):  # what is not told follows from a column that is
            plan.clashes.append(Clash(str(now.record), str(f.verbose_name), _words(f, old), _words(f, stands)))
        now.values[f.attname] = getattr(before, f.attname)


def _words(column: Any, value: Any) -> str | None:
    """Return a column's value as the keeper, who alone undoes, would read it."""
    if value is None:
        return None
    if column.is_relation:
        return str(column.related_model._default_manager.filter(pk=value).first() or "something that is gone")
    return str(dict(column.flatchoices).get(value) or said(column.name, value))


def _revived(row: Any, model: type[Any]) -> Any:
    """Return a deleted record as its last history row has it."""
    return model(**{f.attname: getattr(row, f.attname) for f in model._meta.concrete_fields})
