"""Writing groups, and accepting and refusing proposed ones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import Max

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.sorting.models import Group, GroupThing, RefusedProposal
from archive.things.models import Thing


def add_group(who: Account | None, values: Mapping[str, Any], things: Sequence[Thing] = ()) -> Group:
    """Make a group of things, in their order."""
    with changing(who, "sorting.add_group"):
        group = Group(**values)
        group.save()
        add_things(who, group, things)
    return group


def edit_group(who: Account | None, group: Group, values: Mapping[str, Any]) -> None:
    """Change what is said of a group."""
    with changing(who, "sorting.edit_group"):
        for name, value in values.items():
            setattr(group, name, value)
        touch(group)
        group.save()


def add_things(who: Account | None, group: Group, things: Sequence[Thing]) -> int:
    """Put things into a group after those it has; return how many are new in it."""
    inside = set(GroupThing.objects.filter(group=group).values_list("thing_id", flat=True))
    new = [thing for thing in things if thing.pk not in inside]
    with changing(who, "sorting.add_to_group"):
        last = GroupThing.objects.filter(group=group).aggregate(last=Max("position"))["last"] or 0
        for position, thing in enumerate(new, last + 1):
            GroupThing(group=group, thing=thing, position=position).save()
    return len(new)


def remove_from_group(who: Account | None, row: GroupThing) -> None:
    """Take a thing out of a group; the thing itself stays."""
    with changing(who, "sorting.remove_from_group"):
        row.delete()


def move_in_group(who: Account | None, row: GroupThing, step: int) -> None:
    """Move a thing one place forward (-1) or back (+1) in its group."""
    with changing(who, "sorting.move_in_group"):
        rows = list(GroupThing.objects.filter(group=row.group_id).order_by("position", "pk"))
        at = next(i for i, each in enumerate(rows) if each.pk == row.pk)
        to = min(max(at + step, 0), len(rows) - 1)
        rows.insert(to, rows.pop(at))
        for position, each in enumerate(rows, 1):
            if each.position != position:
                each.position = position
                touch(each)
                each.save()


def accept_proposal(
    who: Account | None, keys: Iterable[str], values: Mapping[str, Any], things: Sequence[Thing], *, whole: bool
) -> Group:
    """Make a group of a proposed one. When some of its things were left out, it is not proposed again."""
    with changing(who, "sorting.accept_proposal"):
        group = add_group(who, values, things)
        if not whole:
            _refuse(keys)
    return group


def refuse_proposal(who: Account | None, keys: Iterable[str]) -> None:
    """Have a proposed group proposed no more, for none of its reasons."""
    with changing(who, "sorting.refuse_proposal"):
        _refuse(keys)


def _refuse(keys: Iterable[str]) -> None:
    for key in keys:
        RefusedProposal.objects.get_or_create(key=key)


def propose_again(who: Account | None, key: str) -> None:
    """Let a refused group be proposed again."""
    with changing(who, "sorting.propose_again"):
        RefusedProposal.objects.filter(key=key).delete()
