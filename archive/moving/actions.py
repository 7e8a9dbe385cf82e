"""Recording pasted rows: all of them as one act."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Max

from archive.access.bulk import create_many
from archive.access.changes import changing
from archive.access.models import Account, ChangeSet
from archive.folding import fold
from archive.moving.reading import RowRead
from archive.people.queries import NewName
from archive.preferences.models import Preferences
from archive.preferences.queries import read_into
from archive.sorting.models import Group, GroupThing
from archive.things.actions import issue_numbers
from archive.things.models import Inscription, Thing, ThingPerson, ThingPlace
from archive.things.newcomers import Newcomers


def record_rows(who: Account, rows: Sequence[RowRead], kept: Preferences) -> ChangeSet:
    """Record a thing for each row, with its people, places, inscriptions and group, in one transaction.

    Raises:
        archive.access.undo.NotAllowed: a rule of the archive forbids it.
    """
    with changing(who, "moving.paste") as change_set:
        newcomers = Newcomers(who)
        things = []
        for number, row in zip(issue_numbers("things", len(rows)), rows, strict=True):
            values = dict(row.values)
            if isinstance(values.get("came_from"), NewName):
                values["came_from"] = newcomers.person(values["came_from"])
            thing = Thing(serial=number, **values)
            for name in ("made", "came"):
                if f"{name}_text" in values:
                    read_into(thing, name, kept)
            things.append(thing)
        people: dict[tuple[int, int, str], ThingPerson] = {}
        places: dict[tuple[int, int, str], ThingPlace] = {}
        # Bulk writing gives the things their keys, which their links need; who is new is recorded on the way.
        for thing, row in zip(create_many(things), rows, strict=True):
            for value, role in row.people:
                person = newcomers.person(value)
                people[thing.pk, person.pk, role] = ThingPerson(thing=thing, person=person, role=role)
            for value, role in row.places:
                place = newcomers.place(value)
                places[thing.pk, place.pk, role] = ThingPlace(thing=thing, place=place, role=role)
        create_many(list(people.values()))
        create_many(list(places.values()))
        create_many(
            [
                Inscription(thing=thing, text=text)
                for thing, row in zip(things, rows, strict=True)
                for text in row.inscriptions
            ]
        )
        create_many(_in_groups(things, rows))
    return change_set


def _in_groups(things: Sequence[Thing], rows: Sequence[RowRead]) -> list[GroupThing]:
    made: dict[str, Group] = {}
    last: dict[int, int] = {}
    found: list[Any] = []
    for thing, row in zip(things, rows, strict=True):
        if row.group is None:
            continue
        group = row.group if isinstance(row.group, Group) else made.get(fold(row.group))
        if group is None:
            group = made[fold(row.group)] = Group(title=row.group)
            group.save()
        if group.pk not in last:
            last[group.pk] = group.thing_rows.aggregate(last=Max("position"))["last"] or 0
        last[group.pk] += 1
        found.append(GroupThing(group=group, thing=thing, position=last[group.pk]))
    return found
