"""Reading the light of things: showings, other light, bars, and the spots a reader may see."""

from __future__ import annotations

from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, Q, prefetch_related_objects
from django.http import Http404

from archive.access.models import Account
from archive.pictures.models import Picture
from archive.things.models import Standing, Thing
from conservation.on_show.models import BarredSpot, LightUse, LuxReading, Showing, Spot

NOW_AT_MOST = 200


def with_readings() -> Any:
    """Return the readings of spots, to be fetched with them."""
    return Prefetch("lux_readings", queryset=LuxReading.objects.all())


def spots_in_use(reader: Account | None) -> list[Spot]:
    """Return the spots in use that this reader may see, with their readings; two queries."""
    return list(Spot.objects.visible_to(reader).present().filter(in_use=True).prefetch_related(with_readings()))


def showings_of(thing: Thing) -> list[Showing]:
    """Return every showing of a thing, the latest first, with its spot and what is said of the thing’s light."""
    return list(Showing.objects.filter(thing=thing).select_related("spot", "thing__light"))


def hanging(showings: list[Showing]) -> list[Showing]:
    """Return those that are not over, with the readings of their spots; of a thing there is one, or two were united."""
    found = [each for each in showings if each.came_down is None]
    if found:
        prefetch_related_objects(found, "spot__lux_readings")
    return found


def uses_of(thing: Thing) -> list[LightUse]:
    """Return the other light of a thing, the latest first."""
    return list(LightUse.objects.filter(thing=thing))


def bars_of(thing: Thing, reader: Account | None) -> list[BarredSpot]:
    """Return where a thing is not to be shown, of the spots that the reader may see."""
    spots = Spot.objects.visible_to(reader).order_by().values("pk")
    return list(BarredSpot.objects.filter(thing=thing, spot__in=spots).select_related("spot"))


def seen_spots(reader: Account | None) -> set[int]:
    """Return the ids of the spots that a reader may see."""
    return set(Spot.objects.visible_to(reader).values_list("pk", flat=True))


def now_on_show(reader: Account | None, thing_ids: list[int] | None = None) -> list[Showing]:
    """Return what hangs now of things that the reader may see, or of some of them; the longest there first."""
    here = Thing.objects.visible_to(reader).present().filter(pk=OuterRef("thing"))  # asked of the few that hang
    rows = Showing.objects.filter(Exists(here), came_down__isnull=True).order_by("went_up", "pk")
    if thing_ids is not None:
        rows = rows.filter(thing__in=thing_ids)
    else:
        # The keys first: joined with its thing at once, SQLite goes through all things to find the few that hang.
        found = list(rows.values_list("pk", flat=True)[:NOW_AT_MOST])
        rows = rows.filter(pk__in=found)
        if not found:
            return []
    readings = Prefetch("spot__lux_readings", queryset=LuxReading.objects.all())
    return list(rows.select_related("spot", "thing__light").prefetch_related(readings)[:NOW_AT_MOST])


def spots_without_reading(reader: Account | None, how_many: int) -> list[Spot]:
    """Return spots in use that nobody has read yet, those where something hangs first."""
    rows = Spot.objects.visible_to(reader).present().filter(in_use=True, lux_readings__isnull=True)
    hangs = Exists(Showing.objects.filter(spot=OuterRef("pk"), came_down__isnull=True))
    return list(rows.annotate(hangs=hangs).order_by("-hangs", "title", "pk")[:how_many])


def find_showing(public_id: str, reader: Account | None) -> Showing:
    """Return a showing of a thing that this reader may see.

    Raises:
        Http404: there is none, or none for this reader.
    """
    things = Thing.objects.visible_to(reader).order_by().values("pk")
    found = Showing.objects.filter(public_id=public_id, thing__in=things).select_related("thing", "spot").first()
    if found is None:
        raise Http404
    return found


def row_of(model: Any, public_id: str, thing: Thing) -> Any:
    """Return a row that belongs to a thing.

    Raises:
        Http404: there is none.
    """
    found = model.objects.filter(public_id=public_id, thing=thing).first()
    if found is None:
        raise Http404
    return found


def may_go_up(reader: Account | None, spot: Spot, how_many: int = 60) -> list[Thing]:
    """Return things that could go up at a spot: kept, not on show, not barred, of a size that fits, dear ones first."""
    things = Thing.objects.visible_to(reader).present().filter(standing=Standing.KEPT)
    things = things.exclude(showings__came_down__isnull=True, showings__isnull=False).exclude(barred_spots__spot=spot)
    things = things.exclude(light__may_be_shown="never")
    for side in ("width_mm", "height_mm"):
        room = getattr(spot, side)
        if room:
            things = things.filter(Q(**{f"{side}__lte": room}) | Q(**{f"{side}__isnull": True}))
    pictures = Prefetch("pictures", queryset=Picture.objects.order_by("position", "pk"))
    return list(things.order_by("-significance", "pk").prefetch_related(pictures)[:how_many])
