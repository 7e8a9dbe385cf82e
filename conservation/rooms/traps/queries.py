"""Reading traps and their counts."""

from __future__ import annotations

from typing import Any

from django.db.models import Max, Prefetch
from django.http import Http404

from archive.boxes.models import Box
from conservation.rooms.traps.models import Trap, TrapCount


def _with_counts() -> Any:
    counts = Prefetch("counts", TrapCount.objects.order_by("counted_on", "pk"))
    return Trap.objects.select_related("room", "room__room_facts").prefetch_related(counts)


def traps_laid() -> list[Trap]:
    """Return all traps that lie in rooms that are not withdrawn, by room, with their counts; two queries."""
    laid = _with_counts().filter(taken_on__isnull=True, room__withdrawn_at__isnull=True)
    return list(laid.order_by("room__title_folded", "room", "label", "pk"))


def traps_in(room: Box, *, taken: bool = False) -> list[Trap]:
    """Return the traps of a room, those that were taken away only where asked for."""
    found = _with_counts().filter(room=room)
    return list(found if taken else found.filter(taken_on__isnull=True))


def find_trap(public_id: str) -> Trap:
    """Return a trap with its counts.

    Raises:
        Http404: there is none.
    """
    found: Trap | None = _with_counts().filter(public_id=public_id).first()
    if found is None:
        raise Http404
    return found


def next_label() -> int:
    """Return the number for a new trap; numbers are never used again."""
    return int(Trap.objects.aggregate(last=Max("label"))["last"] or 0) + 1
