"""People and places that one act names for the first time."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from archive.access.models import Account
from archive.folding import fold
from archive.people.actions import person_for
from archive.people.models import Person
from archive.people.queries import NewName
from archive.places.actions import place_for
from archive.places.models import Place
from archive.places.queries import NewPlace


@dataclass
class Newcomers:
    """Makes people and places that are named for the first time, each once however often it is named."""

    who: Account | None
    _people: dict[str, Person] = field(default_factory=dict)
    _places: dict[str, Place] = field(default_factory=dict)

    def person(self, value: Person | NewName) -> Person:
        """Return the person meant; a new name is recorded once."""
        if isinstance(value, Person):
            return value
        key = fold(value.name)
        if key not in self._people:
            made = person_for(self.who, value)
            if made is None:
                raise ValueError("a name is needed")
            self._people[key] = made
        return self._people[key]

    def place(self, value: Place | NewPlace) -> Place:
        """Return the place meant; a new name is recorded once."""
        if isinstance(value, Place):
            return value
        key = fold(value.name)
        if key not in self._places:
            made = place_for(self.who, value)
            if made is None:
                raise ValueError("a name is needed")
            self._places[key] = made
        return self._places[key]

    def settle(self, value: Any) -> Any:
        """Return the person or place meant where a value is one, anything else as it is."""
        if isinstance(value, NewName):
            return self.person(value)
        return self.place(value) if isinstance(value, NewPlace) else value
