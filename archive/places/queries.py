"""Reading places for pages, and finding them by what somebody typed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Count, Q
from django.http import Http404

from archive.access.models import Account
from archive.folding import fold
from archive.places.models import Place, PlaceName
from archive.things.models import Thing

PER_PAGE = 48


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
    found = _for_reader(list(places[:20]), reader)
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
    found = _for_reader(list(places.order_by("name_folded", "pk")[: how_many * 5]), reader)
    return sorted(found, key=lambda place: not place.name_folded.startswith(wanted))[:how_many]


def _for_reader(places: list[Place], reader: Account | None) -> list[Place]:
    """Keep labels from naming what the reader may not see."""
    around = [place.within_id for place in places if place.within_id]
    seen = set(Place.objects.visible_to(reader).present().filter(pk__in=around).values_list("pk", flat=True))
    for place in places:
        place.within_hidden = place.within_id not in seen
    return places


# -- the list ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class PlaceRow:
    """A place in the list, with what it lies in if the reader may see that, and how many things belong to it."""

    place: Place
    within: str
    things: int
    other_names: list[str]


def list_page(reader: Account | None, number: str, typed: str = "") -> tuple[Page[Any], list[PlaceRow]]:
    """Return one page of the list of places by name, in a constant number of queries; older names count as well."""
    places = Place.objects.visible_to(reader).present()
    wanted = fold(" ".join(typed.split()))
    if wanted:
        begins = Q(name_folded__startswith=wanted) | Q(name_folded__contains=f" {wanted}")
        places = places.filter(begins | Q(pk__in=PlaceName.objects.filter(begins).values("place")))
    page = Paginator(places.order_by("name_folded", "pk"), PER_PAGE).get_page(number)
    found = list(page.object_list)
    around = Place.objects.visible_to(reader).present().filter(pk__in=[each.within_id for each in found])
    around_names = dict(around.order_by().values_list("pk", "name"))
    counts = linked_counts([place.pk for place in found], reader)
    names: dict[int, list[str]] = {}
    for owner, name in PlaceName.objects.filter(place__in=found).values_list("place_id", "name"):
        names.setdefault(owner, []).append(name)
    rows = [
        PlaceRow(each, around_names.get(each.within_id, ""), counts.get(each.pk, 0), names.get(each.pk, []))
        for each in found
    ]
    return page, rows


def linked_counts(ids: Iterable[int], reader: Account | None) -> dict[int, int]:
    """Return, for places by pk, how many things that the reader may see have to do with them (one query)."""
    things = Thing.objects.visible_to(reader).present().filter(place_rows__place__in=list(ids)).order_by()
    return dict(things.values_list("place_rows__place").annotate(how_many=Count("pk", distinct=True)))


# -- one place ---------------------------------------------------------------------------------------------------------


def lies_in(place: Place, reader: Account | None) -> list[Place]:
    """Return what a place lies in, the nearest first; it ends at a place that the reader may not see."""
    found: list[Place] = []
    above = place.within_id
    while above is not None and above not in {each.pk for each in found}:
        around: Place | None = Place.objects.visible_to(reader).present().filter(pk=above).first()
        if around is None:
            break
        found.append(around)
        above = around.within_id
    return found


def loop_through(place: Place, within: Place) -> list[str]:
    """Return the names of the loop that would be closed if one place lay in another, or nothing."""
    names, at = [place.name], within
    seen: set[int] = set()
    while at.pk not in seen:
        names.append(at.name)
        if at.pk == place.pk:
            return names
        seen.add(at.pk)
        if at.within is None:
            break
        at = at.within
    return []


def namesakes(place: Place, reader: Account | None) -> list[Place]:
    """Return other places with the same name."""
    places = Place.objects.visible_to(reader).present().exclude(pk=place.pk).select_related("within")
    return list(places.filter(name_folded=place.name_folded)[:5])


def find_name(public_id: str) -> PlaceName:
    """Return a further name of a place.

    Raises:
        Http404: there is none.
    """
    name = PlaceName.objects.select_related("place").filter(public_id=public_id).first()
    if name is None:
        raise Http404
    return name
