"""When two places are one."""

from __future__ import annotations

import difflib

from django.db.models import Q

from archive.access.models import Account
from archive.access.uniting import Rules, register_rules
from archive.places.models import Place, PlaceName
from archive.places.queries import loop_through, named

_LOOKED_AT = 400


def _near(place: Place, reader: Account | None) -> list[Place]:
    """Return places whose name is much like this one's, the likest first."""
    begins = Q()
    for word in place.name_folded.split():
        if len(word) >= 3:
            begins |= Q(name_folded__contains=word[:4])
    if not begins:
        return []
    places = Place.objects.visible_to(reader).present().exclude(pk=place.pk).select_related("within").filter(begins)

    def likeness(other: Place) -> float:
        return difflib.SequenceMatcher(None, place.name_folded, other.name_folded, autojunk=False).ratio()

    return sorted(places[:_LOOKED_AT], key=likeness, reverse=True)[:8]


def _refuse(keep: Place, lose: Place) -> str | None:
    for inner, outer in ((keep, lose), (lose, keep)):
        loop = loop_through(outer, inner)
        if loop:
            said = " → ".join(loop[1:])
            return (
                f"{inner.name} lies in {outer.name}: {said}. Say on its page that it lies elsewhere, if they are one."
            )
    return None


def _other_name(keep: Place, lose: Place) -> PlaceName | None:
    return PlaceName(place=keep, name=lose.name) if lose.name != keep.name else None


register_rules(
    "places",
    Rules(near=_near, find=named, refuse=_refuse, other_name=_other_name, together=(("latitude", "longitude"),)),
)
