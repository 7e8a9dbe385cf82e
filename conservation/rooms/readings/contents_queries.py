"""Reading what lies in measured rooms, what is due, and what to mark in lists."""

from __future__ import annotations

from collections import Counter

from django.db.models import Exists, OuterRef, Sum
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.models import Box, RoughCount
from archive.search.queries import kept
from archive.things.models import Thing
from conservation.rooms.readings.models import Placement, Sensor
from conservation.rooms.readings.queries import kept_of, rooms_to_choose, sensors_of
from conservation.rooms.readings.where_queries import rooms_above


def due_sensors(reader: Account | None, by_hand_days: int, logger_days: int) -> list[tuple[Sensor, int]]:
    """Return sensors in use whose last reading is too old, with its age in days, the oldest first."""
    now = timezone.now().timestamp()
    found = []
    for sensor in sensors_of(reader, retired=False).filter(room__withdrawn_at__isnull=True):
        kept = kept_of(sensor)
        if kept is None or kept.last_s is None:
            continue
        days = int((now - kept.last_s) / 86400)
        if days >= (by_hand_days if sensor.by_hand else logger_days):
            found.append((sensor, days))
    return sorted(found, key=lambda pair: -pair[1])


def unmeasured_rooms(reader: Account | None, how_many: int) -> list[Box]:
    """Return rooms with things in them and no sensor of their air in use, those with most things first."""
    speaking = Sensor.objects.present().filter(room=OuterRef("pk"), retired_on__isnull=True)
    speaking = speaking.exclude(placement=Placement.OUTDOORS)
    rooms = {room.pk: room for room in rooms_to_choose(reader).exclude(Exists(speaking))}
    if not rooms:
        return []
    things = kept("things by room", reader, lambda: _things_by_room(reader))
    best = sorted(rooms.keys() & things.keys(), key=lambda pk: (-things[pk], pk))
    return [rooms[pk] for pk in best[:how_many]]


def _things_by_room(reader: Account | None) -> dict[int, int]:
    return {room: kinds.total() for room, kinds in kinds_in_rooms(reader).items()}


def kinds_in_rooms(reader: Account | None) -> dict[int, Counter[str]]:
    """Return what is in all rooms: room → kind → how many; three queries whatever their number.

    As for a single box, a rough count of a kind is taken where it is larger than the number of things recorded of it.
    """
    things = Thing.objects.visible_to(reader).present().filter(box__isnull=False).order_by()
    recorded = list(things.values_list("box", "kind_code").annotate(pieces=Sum("count")))
    boxes = Box.objects.visible_to(reader).present().order_by().values("pk")
    rough = list(RoughCount.objects.filter(box__in=boxes).values_list("box", "kind_code").annotate(Sum("count")))
    above = rooms_above(box for box, _, _ in (*recorded, *rough))
    found: dict[int, Counter[str]] = {}
    for counts in (recorded, rough):
        by_room: dict[int, Counter[str]] = {}
        for box, kind, pieces in counts:
            if box in above:
                by_room.setdefault(above[box], Counter())[kind] += pieces
        for room, kinds in by_room.items():
            found[room] = found.get(room, Counter()) | kinds  # of each kind the larger number
    return found
