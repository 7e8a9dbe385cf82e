"""Recording and changing people."""

from __future__ import annotations

from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.people.family import loop_through
from archive.people.models import Parentage, Partnership, Person, PersonName
from archive.people.queries import NewName, named
from archive.places.actions import place_for
from archive.preferences.models import Preferences
from archive.preferences.queries import read_into

DATES, PLACES = ("born", "died"), ("born_where", "died_where")


class Refused(ValueError):
    """What is asked for cannot be; the message is a sentence for the page."""


def person_for(who: Account | None, value: Person | NewName | None) -> Person | None:
    """Return the person that a form's field holds; a new name becomes a new person, in the change set that is open.

    A name that two fields of one form hold becomes one person.
    """
    if not isinstance(value, NewName):
        return value
    if len(there := named(value.name, who)) == 1:
        return there[0]
    with changing(who, "people.add"):
        person = Person(name=value.name)
        person.save()
    return person


def add_person(who: Account | None, values: dict[str, Any], kept: Preferences) -> Person:
    """Record somebody; places that are new are recorded with them."""
    with changing(who, "people.add"):
        person = Person()
        _set(who, person, values, kept)
        person.save()
    return person


def edit_person(who: Account | None, person: Person, values: dict[str, Any], kept: Preferences) -> None:
    """Change what is recorded of somebody."""
    with changing(who, "people.edit"):
        _set(who, person, values, kept)
        touch(person)
        person.save()


def _set(who: Account | None, person: Person, values: dict[str, Any], kept: Preferences) -> None:
    for name, value in values.items():
        setattr(person, name, place_for(who, value) if name in PLACES else value)
    for name in DATES:
        read_into(person, name, kept)


def add_name(who: Account | None, person: Person, values: dict[str, Any]) -> PersonName:
    """Record another form of somebody's name."""
    with changing(who, "people.add_name"):
        name = PersonName(person=person, **values)
        name.save()
    return name


def add_parent(
    who: Account | None, child: Person | NewName, parent: Person | NewName, sort: str = Parentage.Sort.BIRTH
) -> Parentage:
    """Record that somebody is a parent of somebody.

    Raises:
        Refused: it is recorded already, or somebody would be their own ancestor; the loop is shown in names.
    """
    with changing(who, "people.add_parent"):
        young, old = person_for(who, child), person_for(who, parent)
        if young is None or old is None:
            raise Refused("Say who it is.")
        if Parentage.objects.filter(child=young, parent=old).exists():
            raise Refused(f"{old.name} is recorded as a parent of {young.name} already.")
        loop = loop_through(young, old)
        if loop:
            raise Refused(
                f"{young.name} would be their own forebear: {' → '.join(loop)}. Each arrow leads to a parent. "
                "One of these steps must be another person, or recorded the wrong way round."
            )
        row = Parentage(child=young, parent=old, sort=sort)
        row.save()
    return row


def add_partner(
    who: Account | None, one: Person, other: Person | NewName, values: dict[str, Any], kept: Preferences
) -> Partnership:
    """Record that two people were partners.

    Raises:
        Refused: the two are one and the same person.
    """
    with changing(who, "people.add_partner"):
        partner = person_for(who, other)
        if partner is None or partner.pk == one.pk:
            raise Refused("Nobody can be their own partner. Name the other one.")
        row = Partnership(one=one, other=partner, **values)
        read_into(row, "since", kept)
        row.save()
    return row


def edit_row(who: Account | None, row: Any, values: dict[str, Any], kept: Preferences) -> None:
    """Change a name, or how somebody is a parent or partner."""
    with changing(who, "people.edit_row"):
        for name, value in values.items():
            setattr(row, name, value)
        if isinstance(row, Partnership):
            read_into(row, "since", kept)
        touch(row)
        row.save()


def remove_row(who: Account | None, row: Any) -> None:
    """Take a name, a parent or a partner away; undo brings it back."""
    with changing(who, "people.remove_row"):
        row.delete()
