"""Where boxes stand, as far as care asks: room, furniture, location, cold places around; read once for a page."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass

from django.db import connection

from archive.boxes.models import Level
from archive.once import read_for_page

# From each box upwards with what is said of each node; the walk ends at 100, deeper than any house.
_UP = """
WITH RECURSIVE up(start, id, inside_id, level, depth) AS (
  SELECT id, id, inside_id, level, 0 FROM archive_box WHERE id IN (SELECT value FROM json_each(%s))
  UNION ALL
  SELECT up.start, box.id, box.inside_id, box.level, depth + 1 FROM up JOIN archive_box AS box ON box.id = up.inside_id
  WHERE depth < 100
)
SELECT start, up.id, level, place.furniture, place.location, cold.id IS NOT NULL,
  depth = 0 AND EXISTS (SELECT 1 FROM conservation_coldtrip AS trip WHERE trip.box_id = start AND trip.back_at IS NULL)
FROM up
LEFT JOIN conservation_standingplace AS place ON place.box_id = up.id
LEFT JOIN conservation_coldplace AS cold ON cold.box_id = up.id
ORDER BY start, depth
"""


@dataclass
class Where:
    """Where a box stands, whoever may see it: the key of its room, what is said nearest to it, cold nodes around it."""

    room: int | None = None
    furniture: str = ""
    location: str = ""
    cold: tuple[int, ...] = ()  # the nearest first, the box itself included
    is_out: bool = False  # the box is out of the cold and not back
    way: tuple[int, ...] = ()  # itself and all it stands in, up to the room


def where(box_ids: Iterable[int | None]) -> dict[int, Where]:
    """Return where boxes stand, by the box's key, in one query; none for those that the page has asked for before."""
    wanted = {each for each in box_ids if each is not None}
    known: dict[int, Where] = read_for_page("where")
    if missing := sorted(wanted - known.keys()):
        known.update(_read(missing))
    return {each: known[each] for each in wanted if each in known}


def _read(box_ids: list[int]) -> dict[int, Where]:
    with connection.cursor() as cursor:
        cursor.execute(_UP, [json.dumps(box_ids)])
        rows = cursor.fetchall()
    found: dict[int, Where] = {}
    outside: set[int] = set()  # starts whose walk has left the house: no room further out is theirs
    for start, node, level, furniture, location, cold, is_out in rows:
        here = found.setdefault(start, Where())
        if here.room is None and start not in outside:
            here.way += (node,)
        if here.room is None and start not in outside and level == Level.ROOM:
            here.room = node
        if level == Level.HOME:
            outside.add(start)
        here.furniture = here.furniture or furniture or ""
        here.location = here.location or location or ""
        here.is_out = here.is_out or bool(is_out)
        if cold:
            here.cold += (node,)
    return found
