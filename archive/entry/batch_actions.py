"""Changing many things as one act."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from django.db.models import Max

from archive.access.bulk import change_many, create_many, delete_many
from archive.access.changes import changing
from archive.access.models import Account, ChangeSet
from archive.entry.batch import LINKS, AddLink, AddState, RemoveLink, RemoveState, SetFields, SetStanding, Wish, links
from archive.preferences.models import Preferences
from archive.preferences.queries import read_into
from archive.sorting.actions import set_standing
from archive.sorting.models import Group
from archive.things.models import Thing
from archive.things.newcomers import Newcomers

_SPLIT_AT = 500


def change_things(who: Account, things: Sequence[Thing], wishes: Sequence[Wish], kept: Preferences) -> ChangeSet:
    """Do to each thing what is wanted; things that are so already are left alone.

    Raises:
        archive.access.undo.NotAllowed: a rule of the archive forbids it (an accepted lot, something on loan to us).
    """
    with changing(who, "entry.batch") as change_set:
        things = [thing for some in _fresh(things) for thing in some]
        for wish in wishes:
            if isinstance(wish, SetStanding):
                set_standing(who, [thing for thing in things if wish.differs(thing)], wish.values)
        names: set[str] = set()
        changed: dict[int, Thing] = {}
        for wish in wishes:
            if isinstance(wish, SetFields | AddState | RemoveState):
                names |= _to_fields(wish, things, changed, kept)
        change_many(list(changed.values()), sorted(names))
        newcomers = Newcomers(who)
        for wish in wishes:
            if isinstance(wish, RemoveLink):
                delete_many(links(wish, things))
        for wish in wishes:
            if isinstance(wish, AddLink):
                _add_links(wish, things, newcomers)
    return change_set


def _fresh(things: Sequence[Thing]) -> Iterator[Iterable[Thing]]:
    """Read the things anew inside the transaction: somebody may have changed them since they were looked at."""
    keys = [thing.pk for thing in things]
    for start in range(0, len(keys), _SPLIT_AT):
        yield Thing.objects.filter(pk__in=keys[start : start + _SPLIT_AT]).order_by("serial_id")


def _to_fields(
    wish: SetFields | AddState | RemoveState, things: Sequence[Thing], changed: dict[int, Thing], kept: Preferences
) -> set[str]:
    """Set fields of the things that a wish changes, and return which columns those are."""
    if not isinstance(wish, SetFields):
        adding = isinstance(wish, AddState)
        for thing in things:
            if (wish.code in thing.states) != adding:
                rest = [code for code in thing.states if code != wish.code]
                thing.states = [*rest, wish.code] if adding else rest
                changed[thing.pk] = thing
        return {"states"}
    names = set(wish.values)
    if "made_text" in names:
        names |= {"made_edtf", "made_earliest", "made_latest"}
    for thing in things:
        if not wish.differs(thing):
            continue
        for name, value in wish.values.items():
            setattr(thing, name, value)
        if "made_text" in wish.values:
            read_into(thing, "made", kept)
        changed[thing.pk] = thing
    return names


def _add_links(wish: AddLink, things: Sequence[Thing], newcomers: Newcomers) -> None:
    model, role = LINKS[wish.what]
    there = {row.thing_id for row in links(wish, things)}
    target: Any
    if wish.what == "person":
        target = newcomers.person(wish.target)
    elif wish.what == "place":
        target = newcomers.place(wish.target)
    else:
        target = wish.target if isinstance(wish.target, Group) else _new_group(str(wish.target))
    more: dict[str, Any] = {"role": wish.role} if role else {}
    rows = [model(thing=thing, **{wish.what: target}, **more) for thing in things if thing.pk not in there]
    if wish.what == "group":
        last = model.objects.filter(group=target).aggregate(last=Max("position"))["last"] or 0
        for position, row in enumerate(rows, last + 1):
            row.position = position
    create_many(rows)


def _new_group(title: str) -> Group:
    group = Group(title=title)
    group.save()
    return group
