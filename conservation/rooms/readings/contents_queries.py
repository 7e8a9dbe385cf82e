"""Reading what lies in measured rooms, what is due, and what to mark in lists."""

from __future__ import annotations

from django.db.models import Count, Exists, OuterRef, Sum
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.models import Box
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
    placed = Thing.objects.visible_to(reader).present().filter(box__isnull=False).order_by()
    counts = dict(placed.values_list("box").annotate(n=Count("pk")))
    above = rooms_above(counts)
    things: dict[int, int] = {}
    for box, count in counts.items():
        if box in above:
            things[above[box]] = things.get(above[box], 0) + count
    return things


def kinds_in_rooms(reader: Account | None) -> dict[int, dict[str, int]]:
    """Return what is recorded in all rooms: room → kind → how many; two queries whatever their number."""
    things = Thing.objects.visible_to(reader).present().filter(box__isnull=False).order_by()
    rows = list(things.values_list("box", "kind_code").annotate(pieces=Sum("count")))
    above = rooms_above(box for box, _, _ in rows)
    found: dict[int, dict[str, int]] = {}
    for box, kind, pieces in rows:
        room = above.get(box)
        if room is not None:
            here = found.setdefault(room, {})
            here[kind] = here.get(kind, 0) + pieces
    return found
