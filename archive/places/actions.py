"""Recording and changing places."""

from __future__ import annotations

from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.places.models import Place, PlaceName
from archive.places.queries import NewPlace, loop_through, named


class Refused(ValueError):
    """What is asked for cannot be; the message is a sentence for the page."""


def place_for(who: Account | None, value: Place | NewPlace | None) -> Place | None:
    """Return the place that a form's field holds; a new name becomes a new place, in the change set that is open.

    A name that two fields of one form hold becomes one place.
    """
    if not isinstance(value, NewPlace):
        return value
    if len(there := named(value.name, who)) == 1:
        return there[0]
    with changing(who, "places.add"):
        place = Place(name=value.name)
        place.save()
    return place


def add_place(who: Account | None, values: dict[str, Any]) -> Place:
    """Record a place; what it lies in is recorded with it when that is new."""
    with changing(who, "places.add"):
        place = Place(**{**values, "within": place_for(who, values.get("within"))})
        place.save()
    return place


def edit_place(who: Account | None, place: Place, values: dict[str, Any]) -> None:
    """Change what is recorded of a place.

    Raises:
        Refused: it would lie in itself; the loop is shown in names.
    """
    with changing(who, "places.edit"):
        for name, value in values.items():
            setattr(place, name, place_for(who, value) if name == "within" else value)
        loop = loop_through(place, place.within) if place.within is not None else []
        if loop:
            raise Refused(f"{place.name} would lie in itself: {' → '.join(loop)}. Each arrow leads to what it lies in.")
        touch(place)
        place.save()


def add_name(who: Account | None, place: Place, values: dict[str, Any]) -> PlaceName:
    """Record another name of a place."""
    with changing(who, "places.add_name"):
        name = PlaceName(place=place, **values)
        name.save()
    return name


def edit_name(who: Account | None, name: PlaceName, values: dict[str, Any]) -> None:
    """Change a further name of a place."""
    with changing(who, "places.edit_name"):
        for column, value in values.items():
            setattr(name, column, value)
        touch(name)
        name.save()


def remove_name(who: Account | None, name: PlaceName) -> None:
    """Take a further name of a place away; undo brings it back."""
    with changing(who, "places.remove_name"):
        name.delete()
