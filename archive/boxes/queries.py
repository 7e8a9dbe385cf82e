"""Reading the storage tree: what stands in what, where a thing is, and where it was before."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Exists, OuterRef, Q, Subquery
from django.db.models.expressions import RawSQL
from django.http import Http404

from archive.access.models import Account
from archive.boxes.models import Box, RoughCount
from archive.folding import fold
from archive.numbers import read_typed
from archive.once import read_for_page
from archive.pictures.models import Picture
from archive.things.models import Thing

# No household nests deeper; the walk upwards ends here whatever the table holds.
_DEEPEST = 100
_TABLE = Box._meta.db_table


def find_box(public_id: str, reader: Account | None) -> Box:
    """Return a box that this reader may see, with ``pictured``: whether there are pictures of it.

    Raises:
        Http404: there is none, or none for this reader; the two cannot be told apart.
    """
    boxes = Box.objects.visible_to(reader).select_related("lot").filter(public_id=public_id)
    box: Box | None = boxes.annotate(pictured=Exists(Picture.objects.filter(box=OuterRef("pk")))).first()
    if box is None:
        raise Http404
    return box


def by_number(typed: str, reader: Account | None) -> Box | None:
    """Return the box with a typed number, if it is valid and this reader may see it."""
    read = read_typed(typed)
    if read.serial is None:
        return None
    found: Box | None = Box.objects.visible_to(reader).filter(serial_id=read.serial).first()
    return found


# -- up and down the tree ---------------------------------------------------------------------------------


def path_of(box: Box, reader: Account | None) -> list[Box]:
    """Return the way to a box, the outermost first and the box itself last.

    What the reader may not see is left out; of a box they may not see the path is empty.
    """
    return paths_of([box.pk], reader).get(box.pk, [])


def paths_of(box_ids: Iterable[int | None], reader: Account | None) -> dict[int, list[Box]]:
    """Return the ways to many boxes, by box, in one query; a box the reader may not see has none."""
    wanted = {each for each in box_ids if each is not None}
    known: dict[int, list[Box]] = read_for_page(f"paths for {reader.pk if reader is not None else 'visitors'}")
    if missing := sorted(wanted - known.keys()):
        known.update(_paths(missing, reader))
    return {each: known[each] for each in sorted(wanted) if known.get(each)}


def _paths(starts: list[int], reader: Account | None) -> dict[int, list[Box]]:
    visible, params = Box.objects.visible_to(reader).order_by().values("pk").query.sql_with_params()
    # Only the name of our own table and Django's own SQL go into the text; every value is a parameter.
    sql = f"""
        WITH RECURSIVE up(start, box_id, depth) AS (
            SELECT id, id, 0 FROM {_TABLE} WHERE id IN (SELECT value FROM json_each(%s))
            UNION ALL
            SELECT up.start, {_TABLE}.inside_id, up.depth + 1 FROM up JOIN {_TABLE} ON {_TABLE}.id = up.box_id
            WHERE {_TABLE}.inside_id IS NOT NULL AND up.depth < {_DEEPEST}
        )
        SELECT up.start, {_TABLE}.* FROM up JOIN {_TABLE} ON {_TABLE}.id = up.box_id
        WHERE {_TABLE}.id IN ({visible}) ORDER BY up.start, up.depth DESC
    """  # noqa: S608
    found: dict[int, list[Box]] = {}
    rows: Any = Box.objects.raw(sql, [json.dumps(starts), *params])
    for box in rows:
        found.setdefault(box.start, []).append(box)
    return {start: path if (path := found.get(start, [])) and path[-1].pk == start else [] for start in starts}


def below_sql(box: Box | int) -> RawSQL:
    """Return the ids of a box and all that stands in it, as a subquery: ``filter(box_id__in=below_sql(box))``."""
    return RawSQL(  # noqa: S611 - the text holds our own table's name only
        f"WITH RECURSIVE down(id) AS (SELECT %s UNION SELECT {_TABLE}.id FROM down JOIN {_TABLE}"  # noqa: S608
        f" ON {_TABLE}.inside_id = down.id) SELECT id FROM down",
        [box if isinstance(box, int) else box.pk],
    )


def below(box: Box | int) -> set[int]:
    """Return the ids of a box and of everything that stands in it, however deep, itself included.

    What a reader may see is another question: filter with `visible_to`, of boxes and of things.
    """
    return set(Box.objects.filter(pk__in=below_sql(box)).order_by().values_list("pk", flat=True))


def things_below(box: Box, reader: Account | None) -> Any:
    """Return the things in a box and in all that stands in it that this reader may see, in boxes they may see."""
    boxes = Box.objects.visible_to(reader).filter(pk__in=below_sql(box)).order_by().values("pk")
    return Thing.objects.visible_to(reader).filter(box__in=boxes)


def things_in(box: Box, reader: Account | None) -> Any:
    """Return the things that lie in a box itself and that this reader may see, in the order of their numbers."""
    things = Thing.objects.visible_to(reader).filter(box=box)
    return things.prefetch_related("pictures").order_by("serial_id")


def rough_counts_of(box_ids: Iterable[int]) -> dict[int, list[RoughCount]]:
    """Return what a first look counted roughly in boxes, by box."""
    found: dict[int, list[RoughCount]] = {}
    for each in RoughCount.objects.filter(box__in=list(box_ids)):
        found.setdefault(each.box_id, []).append(each)
    return found


# -- finding by what somebody typed -------------------------------------------------------------------------


def named(typed: str, reader: Account | None) -> list[Box]:
    """Return the boxes that a typed number, name, or number and name mean: none, one, or several."""
    typed = " ".join(typed.split())
    if not typed:
        return []
    boxes = Box.objects.visible_to(reader).present()
    for number in (typed, typed.partition(" ")[0]):
        serial = read_typed(number).serial
        found = boxes.filter(serial_id=serial).first() if serial is not None else None
        if found is not None:
            return [found]
    return list(boxes.filter(title_folded=fold(typed)).order_by("pk")[:20])


def suggestions(typed: str, reader: Account | None, how_many: int = 12) -> list[Box]:
    """Return boxes whose name begins with or holds what is typed, or whose number begins with it."""
    wanted = fold(typed.strip())
    if not wanted:
        return []
    meant = Q(title_folded__contains=wanted)
    digits = wanted.replace("-", "")
    if digits.isdecimal() and digits.isascii() and len(digits) < 12:
        serials = {int(digits), int(digits[:-1] or 0)}
        meant |= Q(serial_id__in=serials)
    found = list(Box.objects.visible_to(reader).present().filter(meant).order_by("title_folded", "pk")[: how_many * 5])
    return sorted(found, key=lambda box: not box.title_folded.startswith(wanted))[:how_many]


# -- where was it before --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Move:
    """One change of place: when, by whom, from where, to where; a place the reader may not see is None."""

    at: datetime
    who: str
    source: Box | None
    goal: Box | None


def moves_of(record: Thing | Box, reader: Account | None) -> list[Move]:
    """Return the changes of place of a thing or box from its history, the newest first."""
    column = "box_id" if isinstance(record, Thing) else "inside_id"
    rows = record.history.order_by("history_id").values_list(
        column, "history_date", "change_set__who__display_name", named=False
    )
    steps: list[tuple[int | None, int | None, datetime, str]] = []
    here: int | None = None
    for place, at, who in rows:
        if place != here:
            steps.append((here, place, at, who or "Kistbook"))
            here = place
    ids = {each for step in steps for each in step[:2] if each is not None}
    way = paths_of([record.box_id if isinstance(record, Thing) else record.pk], reader) if ids else {}
    boxes: dict[int | None, Box] = {node.pk: node for path in way.values() for node in path}  # most moves are within it
    if missing := ids - boxes.keys():
        boxes |= Box.objects.visible_to(reader).in_bulk(missing)
    moves = [Move(at, who, boxes.get(source), boxes.get(goal)) for source, goal, at, who in steps]
    return [each for each in reversed(moves) if each.source is not None or each.goal is not None]


# -- may it go there, and which are meant ------------------------------------------------------------------------


def why_not(box: Box, goal: Box, reader: Account | None) -> str:
    """Return the sentence why a box cannot stand in another, the loop shown; nothing when it can."""
    name = str(box) if box.serial_id else box.title
    if box.pk is not None and box.pk == goal.pk:
        return f"{name} cannot stand in itself."
    path = path_of(goal, reader)
    ids = [each.pk for each in path]
    if box.pk in ids:
        links = ", which stands in ".join(str(each) for each in reversed(path[ids.index(box.pk) :]))
        return f"That would be a loop: {name} would stand in {links}."
    if not box.fits(goal):
        words = f"A {box.get_level_display()} cannot stand in a {goal.get_level_display()}"
        return f"{words}: {name} does not go into {goal}."
    return ""


@dataclass(frozen=True)
class BadNumber:
    """A typed number that names nothing to move, with the reason and numbers near it."""

    typed: str
    why: str
    near: tuple[str, ...] = ()


@dataclass(frozen=True)
class Named:
    """The things and boxes that typed numbers mean, and the numbers that mean none."""

    things: list[Thing]
    boxes: list[Box]
    bad: list[BadNumber]

    @property
    def count(self) -> int:
        return len(self.things) + len(self.boxes)


def numbered(typed: list[str], reader: Account | None) -> Named:
    """Return the things and boxes of many typed numbers, in the order they were typed, in a few queries."""
    read = {each: read_typed(each) for each in typed}
    serials = [reading.serial for reading in read.values() if reading.serial is not None]
    things = {each.serial_id: each for each in Thing.objects.visible_to(reader).filter(serial_id__in=serials)}
    boxes = {each.serial_id: each for each in Box.objects.visible_to(reader).filter(serial_id__in=serials)}
    found, seen = Named([], [], []), set(things) | set(boxes)
    used: set[int] | None = None
    for each, reading in read.items():
        if reading.serial in things:
            found.things.append(things.pop(reading.serial))
        elif reading.serial in boxes:
            found.boxes.append(boxes.pop(reading.serial))
        elif reading.serial is not None:
            if reading.serial not in seen:
                found.bad.append(BadNumber(each, "no thing and no box has this number"))
        else:
            if used is None:
                used = _serials(reader)
            near = read_typed(each, used.__contains__).near
            why = "its last sign does not fit" if near else "it is not a number of ours; they look like 0214-6"
            found.bad.append(BadNumber(each, why, tuple(n for n in near if read_typed(n).serial in used) or near))
    return found


def _serials(reader: Account | None) -> set[int]:
    """Return the serials of all things and boxes that this reader may see."""
    return {
        serial
        for model in (Thing, Box)
        for serial in model.objects.visible_to(reader).order_by().values_list("serial_id", flat=True)
    }


def places_of_change(change_set: Any) -> tuple[list[Thing], list[Box]]:
    """Return the things and boxes whose place one act changed, as the keeper sees them."""
    found: list[Any] = []
    for model, column in ((Thing, "box_id"), (Box, "inside_id")):
        rows: Any = model.history.filter(change_set=change_set, history_type="~")
        earlier = model.history.filter(id=OuterRef("id"), history_id__lt=OuterRef("history_id"))
        place_before = earlier.order_by("-history_id").values(column)[:1]
        moved = {
            pk
            for pk, now, before in rows.annotate(before=Subquery(place_before)).values_list("id", column, "before")
            if before != now
        }
        found.append(list(model.objects.filter(pk__in=moved).order_by("pk")))
    return found[0], found[1]
