"""In which room a box stands, and where in a room a sensor can stand."""

from __future__ import annotations

import json
from collections.abc import Iterable

from django.db import connection
from django.db.models import Case, When

from archive.access.models import Account
from archive.boxes.models import Box, Level
from archive.boxes.queries import below_sql, path_of
from conservation.where import where

_ROOM_ABOVE = """
WITH RECURSIVE up(start, id, level, inside_id, depth) AS (
  SELECT id, id, level, inside_id, 0 FROM archive_box WHERE id IN (SELECT value FROM json_each(%s))
  UNION ALL
  SELECT up.start, box.id, box.level, box.inside_id, depth + 1 FROM up JOIN archive_box AS box
  ON box.id = up.inside_id WHERE up.level NOT IN ('room', 'home') AND depth < 100
)
SELECT start, id FROM up WHERE level = 'room' ORDER BY depth
"""


def rooms_above(box_ids: Iterable[int | None]) -> dict[int, int]:
    """Return for the boxes of a whole house the key of the room they stand in, in one query; a room stands in itself.

    Pages of a few boxes ask `where`, which tells more and is read once.
    """
    wanted = sorted({each for each in box_ids if each is not None})
    if not wanted:
        return {}
    with connection.cursor() as cursor:
        cursor.execute(_ROOM_ABOVE, [json.dumps(wanted)])
        found: dict[int, int] = {}
        for start, room in cursor.fetchall():
            found.setdefault(start, room)
    return found


def room_of(box: Box, reader: Account | None) -> Box | None:
    """Return the room a box stands in, where there is one that this reader may see."""
    here = where([box.pk]).get(box.pk)
    if here is None or here.room is None:
        return None
    return next((node for node in path_of(box, reader) if node.pk == here.room), None)


def standing_places(room: Box, reader: Account | None) -> list[Box]:
    """Return the furniture, shelves and boxes of a room in which a sensor can stand, furniture first."""
    below = Box.objects.visible_to(reader).present().filter(pk__in=below_sql(room)).exclude(pk=room.pk)
    first = Case(When(level=Level.FURNITURE, then=0), When(level=Level.SHELF, then=1), default=2)
    return list(below.order_by(first, "position", "title_folded", "pk")[:500])
