"""Recording and changing people."""

from __future__ import annotations

from archive.access.changes import changing
from archive.access.models import Account
from archive.people.models import Person
from archive.people.queries import NewName


def person_for(who: Account | None, value: Person | NewName | None) -> Person | None:
    """Return the person that a form's field holds; a new name becomes a new person, in the change set that is open."""
    if not isinstance(value, NewName):
        return value
    with changing(who, "people.add"):
        person = Person(name=value.name)
        person.save()
    return person
