"""Recording many things fast: one after the other, or all the things of a set of pictures as one act."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from archive.access.bulk import create_many
from archive.access.changes import changing
from archive.access.models import Account, ChangeSet
from archive.people.models import Person
from archive.people.queries import NewName
from archive.pictures.actions import TakenIn, attach
from archive.preferences.models import Preferences
from archive.preferences.queries import read_into
from archive.things.actions import add_thing, issue_numbers
from archive.things.models import Thing, ThingPerson
from archive.things.newcomers import Newcomers


def quick_add(
    who: Account,
    values: dict[str, Any],
    people: Sequence[tuple[Person | NewName, str]],
    pictures: Sequence[TakenIn],
    kept: Preferences,
) -> tuple[Thing, ChangeSet]:
    """Record one thing with its pictures and people, as one act."""
    with changing(who, "entry.quick") as change_set:
        thing = add_thing(who, values, pictures, kept)
        newcomers, seen = Newcomers(who), set()
        for value, role in people:
            person = newcomers.person(value)
            if (person.pk, role) not in seen:
                seen.add((person.pk, role))
                ThingPerson(thing=thing, person=person, role=role).save()
    return thing, change_set


def add_pictured(
    who: Account, rows: Sequence[tuple[dict[str, Any], Sequence[TakenIn]]], kept: Preferences
) -> ChangeSet:
    """Record many things, each with its pictures, as one act.

    Raises:
        archive.keeping.media_store.OriginalGone: a file was destroyed for good since it was taken in.
    """
    with changing(who, "entry.pictures") as change_set:
        numbers = issue_numbers("things", len(rows))
        things = []
        for number, (values, _) in zip(numbers, rows, strict=True):
            thing = Thing(serial=number, **values)
            read_into(thing, "made", kept)
            things.append(thing)
        for thing, (_, pictures) in zip(create_many(things), rows, strict=True):
            attach(who, thing, pictures)
    return change_set
