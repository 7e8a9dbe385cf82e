"""Everything that has to do with one place, each of it only as far as the reader may see it."""

from __future__ import annotations

from typing import Any

from django.db.models import F, QuerySet

from archive.access.linked import Kind, Row, numbered_row, pictured_row, seen, story_row, with_pictures
from archive.access.models import Account
from archive.people.models import Person
from archive.places.models import Place
from archive.sorting.models import Lot
from archive.stories.models import Story
from archive.things.models import Thing, ThingPlace


def _in_roles(place: Place, reader: Account | None) -> QuerySet[Any]:
    found: QuerySet[Any] = Thing.objects.visible_to(reader).present().filter(place_rows__place=place)
    found = found.annotate(role=F("place_rows__role")).order_by("role", "serial_id")
    return found


def _in_role_row(thing: Any) -> Row:
    return pictured_row(thing, group=ThingPlace.Role(thing.role).label)


def _named_row(record: Any) -> Row:
    return Row(record.get_absolute_url(), record.name, detail=getattr(record, "years", ""))


KINDS: dict[str, Kind] = {
    "places": Kind("Places within it", seen(Place, "within", order="name_folded"), _named_row),
    "things": Kind("Things", with_pictures(_in_roles), _in_role_row),
    "stories": Kind("Stories about it", seen(Story, "place_rows__place"), story_row),
    "births": Kind("Born here", seen(Person, "born_where", order="born_earliest"), _named_row),
    "deaths": Kind("Died here", seen(Person, "died_where", order="died_earliest"), _named_row),
    "lots": Kind("What arrived together from here", seen(Lot, "from_where"), numbered_row),
}
