"""Uniting two records that turned out to be one: everything that points to the one points to the other, in one act."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import models
from django.http import Http404
from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account, HistoryRow
from archive.access.records import ReadAccess, owners_of, touch

UNITING = "access.unite"  # the verb of its change sets
# What says when and how often, or is made from other columns, is never filled in from the other record.
_NEVER_FILLED = {
    "id", "public_id", "version", "created_at", "changed_at", "withdrawn_at", "withdrawn_why", "united_with", "access",
}  # fmt: skip
_FROM_STRICT = (ReadAccess.KEEPER, ReadAccess.RELATIVES, ReadAccess.ALL)


class CannotUnite(ValueError):
    """The two cannot be one; the message is a sentence for the page."""


@dataclass(frozen=True)
class Rules:
    """What one kind of record adds to uniting.

    ``near`` returns records that may be the same; ``find`` those that a typed name or number means; ``refuse`` a
    sentence when the two cannot be one; ``other_name`` a row that keeps the lost one's name;
    ``together`` groups of columns of which the first decides: the others are filled only with it; ``empty`` values
    that stand for nothing; ``order`` the column by which rows of a table follow those that are there already.
    """

    near: Callable[[Any, Account | None], list[Any]]
    find: Callable[[str, Account | None], list[Any]]
    refuse: Callable[[Any, Any], str | None] = lambda keep, lose: None
    other_name: Callable[[Any, Any], Any] = lambda keep, lose: None
    together: tuple[tuple[str, ...], ...] = ()
    never: tuple[str, ...] = ()
    empty: tuple[tuple[str, Any], ...] = ()
    asks: str = "The name of the other one"


_rules: dict[str, Rules] = {}


def register_rules(code: str, rules: Rules) -> None:
    """Let a kind of record (its code in addresses) be united."""
    _rules[code] = rules


def rules_of(code: str) -> Rules | None:
    """Return the rules of a kind of record; None when two of it are never united."""
    return _rules.get(code)


def code_of(record: Any) -> str:
    """Return a record's code in addresses."""
    from archive.access.subjects import subjects

    return next(each.code for each in subjects() if each.model is type(record))


# -- what points where -------------------------------------------------------------------------------------------------


def pointing_to(model: type[models.Model]) -> list[models.ForeignKey[Any, Any]]:
    """Return every foreign key of every table that points to a table, history left out."""
    found = []
    for other in apps.get_models(include_auto_created=True):
        if issubclass(other, HistoryRow):
            continue
        for column in other._meta.concrete_fields:
            if isinstance(column, models.ForeignKey) and column.related_model is model:
                found.append(column)
    return sorted(found, key=lambda column: (column.model._meta.label, column.name))


def what_moves(lose: Any) -> list[tuple[str, int]]:
    """Return in words what points to a record, with how many of each."""
    counted: dict[tuple[str, str], int] = {}
    for column in pointing_to(type(lose)):
        number = column.model._default_manager.filter(**{column.name: lose}).count()
        if number:
            words = _other_side(column)
            counted[words] = counted.get(words, 0) + number
    return sorted((one if number == 1 else more, number) for (one, more), number in counted.items())


def _other_side(column: models.ForeignKey[Any, Any]) -> tuple[str, str]:
    """Return the words for what a row links to, one and many: between a person and a thing, the thing."""
    owners = owners_of(column.model)
    if len(owners) == 2 and column.name in owners:
        other: Any = column.model._meta.get_field(next(each for each in owners if each != column.name)).related_model
        if other is not column.related_model:
            return str(other._meta.verbose_name), str(other._meta.verbose_name_plural)
    return str(column.model._meta.verbose_name), str(column.model._meta.verbose_name_plural)


# -- the act -----------------------------------------------------------------------------------------------------------


def why_not(keep: Any, lose: Any) -> str | None:
    """Return a sentence when two records cannot be one."""
    rules = rules_of(code_of(keep))
    if rules is None or type(keep) is not type(lose):
        return "Two records of this kind are never united."
    if keep.pk == lose.pk:
        return "This is the same record. Choose the other one."
    for each in (keep, lose):
        if each.withdrawn_at is not None:
            return f"{each} is withdrawn. Bring it back first."
    return rules.refuse(keep, lose)


def stricter(keep: Any, lose: Any) -> str:
    """Return the narrower of who may see two records: what moves must not be seen by more people than before."""
    return next(level for level in _FROM_STRICT if level in (keep.access, lose.access))


def unite(who: Account | None, keep: Any, lose: Any, *, access: str | None = None, join_notes: bool = False) -> None:
    """Make one record of two: all that points to ``lose`` points to ``keep``, and ``lose`` is withdrawn.

    Empty fields of ``keep`` are filled from ``lose``; ``access`` is who may see the kept one afterwards. All of it is
    one change set, so undo brings both back as they were.

    Raises:
        CannotUnite: the two cannot be one.
    """
    with changing(who, UNITING):
        keep.refresh_from_db()
        lose.refresh_from_db()
        sentence = why_not(keep, lose)
        if sentence:
            raise CannotUnite(sentence)
        rules = _rules[code_of(keep)]
        row = rules.other_name(keep, lose)
        _move_all(keep, lose)
        if row is not None and _said_already(row) is None:
            row.save()
        for name, value in filled(keep, lose, rules.together, rules.never, rules.empty).items():
            setattr(keep, name, value)
        if join_notes:
            _join_notes(keep, lose)
        keep.access = access or keep.access
        touch(keep)
        keep.save()
        lose.united_with = keep.public_id
        lose.withdrawn_at = timezone.now()
        lose.withdrawn_why = f"It is one with {keep}"[:300]
        touch(lose)
        lose.save()


def filled(
    keep: Any,
    lose: Any,
    together: tuple[tuple[str, ...], ...] = (),
    never: tuple[str, ...] = (),
    empty: tuple[tuple[str, Any], ...] = (),
) -> dict[str, Any]:
    """Return the columns of ``keep`` that hold nothing, with what ``lose`` holds in them."""
    nothing = dict(empty)
    follows = {name: group[0] for group in (*together, *_read_dates(keep)) for name in group[1:]}
    found = {}
    for column in keep._meta.concrete_fields:
        name = column.attname
        if column.name in _NEVER_FILLED or column.name in never or column.name.endswith("_folded"):
            continue
        if column.name in follows or not _is_empty(column, keep, nothing) or _is_empty(column, lose, nothing):
            continue
        found[name] = getattr(lose, name)
    taken = {column.name for column in keep._meta.concrete_fields if column.attname in found}
    for name, leader in follows.items():
        column = keep._meta.get_field(name)
        if leader in taken and getattr(keep, column.attname) != getattr(lose, column.attname):
            found[column.attname] = getattr(lose, column.attname)
    return found


def _read_dates(record: Any) -> Iterator[tuple[str, ...]]:
    """Yield the columns of each typed date: what was read from it goes with what was typed."""
    names = {column.name for column in record._meta.concrete_fields}
    for name in sorted(names):
        stem = name.removesuffix("_text")
        if stem != name and f"{stem}_edtf" in names:
            yield (name, f"{stem}_edtf", f"{stem}_earliest", f"{stem}_latest")


def _is_empty(column: Any, record: Any, nothing: dict[str, Any]) -> bool:
    value = getattr(record, column.attname)
    if isinstance(value, bool):
        # A yes is knowledge only where the rules say that no means “not known”.
        return column.name not in nothing or value == nothing[column.name]
    if column.name in nothing and value == nothing[column.name]:
        return True
    return value is None or value == "" or value == []


def _join_notes(keep: Any, lose: Any) -> None:
    """Put the lost one's note below the kept one's, unless it stands there or is too long for the two."""
    longest = keep._meta.get_field("note").max_length or 0
    if lose.note and lose.note not in keep.note and len(keep.note) + len(lose.note) + 2 <= longest:
        keep.note = f"{keep.note}\n\n{lose.note}".strip()


# -- moving ------------------------------------------------------------------------------------------------------------


def _move_all(keep: Any, lose: Any) -> None:
    """Point every row that points to ``lose`` to ``keep``; one that would then say a thing twice goes instead."""
    columns: dict[tuple[Any, Any], list[str]] = {}
    for column in pointing_to(type(lose)):
        pks = column.model._default_manager.filter(**{column.name: lose}).order_by("pk").values_list("pk", flat=True)
        for pk in list(pks):
            # A row may point to the lost one twice; it is written once.
            columns.setdefault((column.model, pk), []).append(column.name)
    steps = {model: _steps(model, names[0], keep, lose) for (model, _), names in columns.items()}
    for (model, pk), names in columns.items():
        row = model._default_manager.filter(pk=pk).first()
        if row is None:
            continue  # it went with another one
        for name in names:
            setattr(row, name, keep)
        for name, step in steps[model].items():
            setattr(row, name, getattr(row, name) + step)
        _settle(row)


def _steps(model: Any, column: str, keep: Any, lose: Any) -> dict[str, int]:
    """Return by how much the numbers of the lost one's rows go up, so that they follow those of the kept one.

    Pictures always follow. Leaves keep their numbers, as these are pencilled on them, unless two different leaves
    would then have one number.
    """
    names = {each.name for each in model._meta.concrete_fields}
    mine = model._default_manager.filter(**{column: keep})
    if "order" in names:
        theirs = model._default_manager.filter(**{column: lose})
        if any(_differ(a, b) for a in theirs for b in mine if (a.order, a.side) == (b.order, b.side)):
            return {"order": mine.aggregate(highest=models.Max("order"))["highest"] or 0}
    if "position" in names and column in owners_of(model) and len(owners_of(model)) != 2:
        highest = mine.aggregate(highest=models.Max("position"))["highest"]
        return {} if highest is None else {"position": highest + 1}
    return {}


def _differ(row: Any, other: Any) -> bool:
    """Say whether two rows hold different words."""
    texts = [c for c in _own_columns(type(row)) if isinstance(c, models.TextField | models.CharField) and not c.choices]
    pairs = [(getattr(row, c.attname), getattr(other, c.attname)) for c in texts]
    return any(mine and theirs and mine != theirs for mine, theirs in pairs)


def _settle(row: Any) -> None:
    """Save a row that points to the kept record now, or let the row that says the same already stand for it."""
    twin = _said_already(row)
    if twin is None:
        try:
            row.validate_unique()
            row.validate_constraints()
        except ValidationError:
            twin = _in_its_place(row)
            if twin is None:
                row.delete()  # it would say that somebody is their own parent, or the like
                return
    if twin is not None:
        _absorb(twin, row)
        return
    touch(row)
    row.save()


def _own_columns(model: type[models.Model]) -> list[Any]:
    apart = {"public_id", "version", "created_at", "changed_at"}
    return [c for c in model._meta.concrete_fields if not c.primary_key and c.name not in apart]


def _said_already(row: Any) -> Any:
    """Return another row of the same table that says the same."""
    others = type(row)._default_manager.exclude(pk=row.pk)
    if hasattr(row, "said_already"):
        return row.said_already(others)
    if hasattr(row, "united_with"):
        return None  # a record is united by its keeper, never by the way
    values = {c.attname: getattr(row, c.attname) for c in _own_columns(type(row))}
    return others.filter(**{k if v is not None else f"{k}__isnull": v is None or v for k, v in values.items()}).first()


def _in_its_place(row: Any) -> Any:
    """Return the row that stands where a table has room for one only."""
    others = type(row)._default_manager.exclude(pk=row.pk)
    places = [[c.attname] for c in _own_columns(type(row)) if c.unique]
    places += [
        [row._meta.get_field(name).attname for name in constraint.fields]
        for constraint in row._meta.constraints
        if isinstance(constraint, models.UniqueConstraint) and constraint.fields
    ]
    for names in places:
        which = {name: getattr(row, name) for name in names}
        if None not in which.values():
            found = others.filter(**which).first()
            if found is not None:
                return found
    return None


def _absorb(twin: Any, row: Any) -> None:
    """Let one row stand for two: what hangs on the other moves, its words fill gaps, and it goes."""
    as_it_was = type(row)._default_manager.get(pk=row.pk)
    _move_all(twin, as_it_was)
    gaps = filled(twin, row)
    for name, value in gaps.items():
        setattr(twin, name, value)
    if gaps:
        touch(twin)
        twin.save()
    as_it_was.delete()


# -- afterwards --------------------------------------------------------------------------------------------------------


def found_or_kept(model: Any, public_id: str, reader: Account | None) -> tuple[Any, bool]:
    """Return the record at an address, or the one that it is one with and True, for a reader who may see it.

    Raises:
        Http404: there is neither for this reader.
    """
    record = model.objects.visible_to(reader).filter(public_id=public_id).first()
    if record is not None and not record.united_with:
        return record, False
    kept = kept_one(model, public_id, reader)
    if kept is None and record is None:
        raise Http404
    return (kept, True) if kept is not None else (record, False)


def kept_one(model: Any, public_id: str, reader: Account | None) -> Any:
    """Return the record that a lost one is one with, for whoever may see it; None when it was not united."""
    at, seen = public_id, set[str]()
    while at not in seen:
        seen.add(at)
        at = model.objects.filter(public_id=at).values_list("united_with", flat=True).first() or at
    return model.objects.visible_to(reader).filter(public_id=at).first() if at != public_id else None
