"""Reading treatments by cold."""

from __future__ import annotations

from typing import Any

from django.db.models import Prefetch, Q
from django.http import Http404

from conservation.rooms.freezing.models import Freezing, FreezingReading, FreezingStay, FreezingThing

PER_PAGE = 24


def _all() -> Any:
    return Freezing.objects.select_related("box", "finding", "finding__room").prefetch_related(
        Prefetch("things", FreezingThing.objects.select_related("thing")),
        Prefetch("stays", FreezingStay.objects.order_by("went_in", "pk")),
        Prefetch("readings", FreezingReading.objects.order_by("at", "pk")),
    )


_OVER = ~Q(stopped_why="") | Q(opened_at__isnull=False, rechecked_on__isnull=False)


def under_way() -> list[Freezing]:
    """Return the treatments of which something is left to do, with things, stays and readings."""
    return list(_all().exclude(_OVER))


def over() -> Any:
    """Return the treatments that are over or were stopped, the latest first."""
    return _all().filter(_OVER)


def find_freezing(public_id: str) -> Freezing:
    """Return a treatment with things, stays and readings.

    Raises:
        Http404: there is none.
    """
    found: Freezing | None = _all().filter(public_id=public_id).first()
    if found is None:
        raise Http404
    return found


def of_thing(thing_id: int) -> list[Freezing]:
    """Return the treatments of a thing, the latest first."""
    return list(_all().filter(things__thing=thing_id))
