"""Recording and changing places."""

from __future__ import annotations

from archive.access.changes import changing
from archive.access.models import Account
from archive.places.models import Place
from archive.places.queries import NewPlace


def place_for(who: Account | None, value: Place | NewPlace | None) -> Place | None:
    """Return the place that a form's field holds; a new name becomes a new place, in the change set that is open."""
    if not isinstance(value, NewPlace):
        return value
    with changing(who, "places.add"):
        place = Place(name=value.name)
        place.save()
    return place
