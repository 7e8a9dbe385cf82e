"""What care has recorded of things, asked once for all subjects: each reads on only where there is something."""

from __future__ import annotations

import json
from collections.abc import Sequence

from django.db import connection

from archive.once import read_for_page
from archive.things.models import Thing

IN_A_BAG = "in-a-bag"  # the thing is being treated by cold
ON_SHOW = "on-show"
# By the very box a thing lies in, and by the thing itself. Our own tables only.
_MARKS = """
SELECT box_id, NULL, check_code FROM conservation_finding
WHERE closed_on IS NULL AND box_id IN (SELECT value FROM json_each(%s))
UNION SELECT NULL, found.thing_id, finding.check_code FROM conservation_findingthing AS found
JOIN conservation_finding AS finding ON finding.id = found.finding_id
WHERE finding.closed_on IS NULL AND found.thing_id IN (SELECT value FROM json_each(%s))
UNION SELECT NULL, bagged.thing_id, 'in-a-bag' FROM conservation_freezingthing AS bagged
JOIN conservation_freezing AS freezing ON freezing.id = bagged.freezing_id
WHERE freezing.opened_at IS NULL AND freezing.stopped_why = '' AND bagged.thing_id IN (SELECT value FROM json_each(%s))
UNION SELECT NULL, thing_id, 'on-show' FROM conservation_showing
WHERE came_down IS NULL AND thing_id IN (SELECT value FROM json_each(%s))
"""
_RECORDED = {
    "decision": "conservation_housingdecision WHERE thing_id = %(thing)s",
    "finding": "conservation_findingthing AS found JOIN conservation_finding AS row ON row.id = found.finding_id"
    " WHERE row.closed_on IS NULL AND found.thing_id = %(thing)s",
    "finding in its box": "conservation_finding WHERE closed_on IS NULL AND box_id = %(box)s",
    "freezing": "conservation_freezingthing WHERE thing_id = %(thing)s",
    "out of the cold": "conservation_coldtrip WHERE back_at IS NULL AND thing_id = %(thing)s",
    "own light": "conservation_thinglight WHERE thing_id = %(thing)s",
    "light use": "conservation_lightuse WHERE thing_id = %(thing)s",
    "showing": "conservation_showing WHERE thing_id = %(thing)s",
    "policy of showing": "conservation_showpolicy",
}
_OF_THING = "SELECT " + ", ".join(f"EXISTS (SELECT 1 FROM {each})" for each in _RECORDED.values())  # noqa: S608


def marks_of(things: Sequence[Thing]) -> dict[int, list[str]]:
    """Return by thing the checks of open findings on it or in its very box, `IN_A_BAG` and `ON_SHOW`; one query."""
    known: dict[int, list[str]] = read_for_page("marks of things")
    if missing := [thing for thing in things if thing.pk not in known]:
        keys = json.dumps([thing.pk for thing in missing])
        boxes = json.dumps(sorted({thing.box_id for thing in missing if thing.box_id is not None}))
        with connection.cursor() as cursor:
            cursor.execute(_MARKS, [boxes, keys, keys, keys])
            rows = cursor.fetchall()
        for thing in missing:
            about = {code for box, pk, code in rows if pk == thing.pk or (box is not None and box == thing.box_id)}
            known[thing.pk] = sorted(about)
    return {thing.pk: known[thing.pk] for thing in things}


def recorded_of(thing: Thing) -> frozenset[str]:
    """Return of what sorts (names of `_RECORDED`) there is something about a thing; one query a page."""
    known: dict[int, frozenset[str]] = read_for_page("recorded of a thing")
    if thing.pk not in known:
        with connection.cursor() as cursor:
            cursor.execute(_OF_THING, {"thing": thing.pk, "box": thing.box_id})
            known[thing.pk] = frozenset(name for name, there in zip(_RECORDED, cursor.fetchone(), strict=True) if there)
    return known[thing.pk]
