"""Reading places for pages, and finding them by what somebody typed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Q
from django.http import Http404

from archive.access.models import Account
from archive.folding import fold
from archive.places.models import Place, PlaceName


@dataclass(frozen=True)
class NewPlace:
    """A typed place that is not in the archive yet."""

    name: str


def find_place(public_id: str, reader: Account | None) -> Place:
    """Return a place that this reader may see.

    Raises:
        Http404: there is none, or none for this reader; the two cannot be told apart.
    """
    place: Place | None = Place.objects.visible_to(reader).filter(public_id=public_id).first()
    if place is None:
        raise Http404
    return place


def named(typed: str, reader: Account | None) -> list[Place]:
    """Return the places that a typed name or label (``Skerrow, in the North Fens``) means: none, one, or several."""
    typed = " ".join(typed.split())
    wanted = {fold(each) for each in (typed, typed.partition(", in ")[0]) if each}
    if not wanted:
        return []
    by_name = Q(name_folded__in=wanted) | Q(pk__in=PlaceName.objects.filter(name_folded__in=wanted).values("place"))
    places = Place.objects.visible_to(reader).present().select_related("within").filter(by_name).order_by("pk")
    found: list[Place] = list(places[:20])
    exact = [place for place in found if place.label == typed]
    return exact or found


def suggestions(typed: str, reader: Account | None, how_many: int = 12) -> list[Place]:
    """Return places whose name, now or before, begins with or holds what is typed."""
    wanted = fold(typed.strip())
    if len(wanted) < 2:
        return []
    others = PlaceName.objects.filter(name_folded__contains=wanted).values("place")
    places: Any = Place.objects.visible_to(reader).present().select_related("within")
    places = places.filter(Q(name_folded__contains=wanted) | Q(pk__in=others))
    found = list(places.order_by("name_folded", "pk")[: how_many * 5])
    return sorted(found, key=lambda place: not place.name_folded.startswith(wanted))[:how_many]
