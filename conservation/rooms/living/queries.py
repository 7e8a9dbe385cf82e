"""Reading the whole house at once: places, their air and light, what is in every box; a fixed number of queries."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import Avg, Count, Max, Q, Sum
from django.http import Http404
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.models import Box, Level, RoughCount
from archive.numbers import number_of
from archive.things.models import Standing, Thing
from conservation.housing.models import StandingPlace
from conservation.on_show.models import LuxReading, Showing, Spot
from conservation.rooms.cold.models import ColdPlace
from conservation.rooms.living.models import MoveDecision
from conservation.rooms.models import RoomFacts
from conservation.rooms.readings.queries import RoomAir, air_of_nodes, air_of_rooms
from conservation.rooms.rounds.queries import signs_in_rooms
from conservation.rooms.traps.models import TrapCount

PLACES = (Level.ROOM, Level.FURNITURE, Level.SHELF)
PACKED = (Level.BOX, Level.FOLDER)
_KEPT = (Standing.KEPT, Standing.UNDECIDED)
_OF_THING = (
    "pk", "public_id", "title", "serial_id", "box_id", "kind_code", "parts", "states", "significance", "count",
    "made_earliest", "film_base", "weight_g", "width_mm", "height_mm", "depth_mm",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Node:
    """One node of the storage tree, as far as placing needs it; sizes in mm."""

    pk: int
    public_id: str
    title: str
    serial_id: int
    level: str
    inside_id: int | None
    inner_mm: tuple[float | None, float | None, float | None]

    @property
    def number(self) -> str:
        return number_of(self.serial_id)

    def __str__(self) -> str:
        return f"{self.number} {self.title}"


@dataclass
class House:
    """The storage tree with what is known of its places."""

    nodes: dict[int, Node]
    facts: dict[int, RoomFacts]
    said: dict[int, tuple[str, str]]  # furniture and location as said of the node itself
    air: dict[int, RoomAir]
    own_air: dict[int, RoomAir]  # of furniture, shelves and boxes that have a sensor of their own
    lux: dict[int, float]
    cold: dict[int, ColdPlace]
    findings: list[tuple[int, str, str, date | None]]  # room, check, gravity, closed on: the last months
    counts: dict[int, tuple[int, list[TrapCount]]]  # by trap: its room, its counts of the last months

    def way(self, pk: int | None) -> list[Node]:
        """Return a node and all it stands in, the innermost first."""
        found: list[Node] = []
        while pk is not None and pk in self.nodes and len(found) < 100:
            found.append(self.nodes[pk])
            pk = found[-1].inside_id
        return found

    def room_of(self, pk: int | None) -> Node | None:
        return next((node for node in self.way(pk) if node.level == Level.ROOM), None)

    def unit_of(self, pk: int | None) -> Node | None:
        """Return the outermost box or folder around a node: what is carried as one."""
        return next((node for node in reversed(self.way(pk)) if node.level in PACKED), None)


@dataclass
class Contents:
    """What is in one box and all in it, or one thing by itself."""

    kinds: Counter[str] = field(default_factory=Counter)
    significance: int | None = None
    odd: list[tuple[Any, ...]] = field(default_factory=list)  # what may be dangerous: rows of `_OF_THING`


def read_house(reader: Account | None) -> House:
    """Return the storage tree and what is known of its places; nine queries and those of the air."""
    visible = Box.objects.visible_to(reader).present()
    columns = (
        "pk", "public_id", "title", "serial_id", "level", "inside_id", "inner_width_mm", "inner_height_mm",
        "inner_depth_mm",
    )  # fmt: skip
    rows = visible.order_by("position", "title_folded", "pk").values_list(*columns)
    nodes = {
        pk: Node(pk, public_id, title, serial, level, inside, (width, height, depth))
        for pk, public_id, title, serial, level, inside, width, height, depth in rows
    }
    rooms = [node.pk for node in nodes.values() if node.level == Level.ROOM]
    seen = visible.order_by().values("pk")
    light = LuxReading.objects.filter(spot__in=Spot.objects.visible_to(reader).present(), spot__in_use=True)
    places = StandingPlace.objects.filter(box__in=seen).values_list("box_id", "furniture", "location")
    findings, counts = signs_in_rooms(rooms, timezone.localdate())
    return House(
        nodes=nodes,
        facts={each.box_id: each for each in RoomFacts.objects.filter(box__in=seen)},
        said={box: (furniture, location) for box, furniture, location in places},
        air=air_of_rooms(room_ids=rooms),
        own_air=air_of_nodes(),
        lux=dict(light.filter(spot__room__in=seen).order_by().values_list("spot__room_id").annotate(Avg("lux"))),
        cold={each.box_id: each for each in ColdPlace.objects.filter(box__in=seen)},
        findings=findings,
        counts=counts,
    )


def any_room(reader: Account | None) -> bool:
    """Say whether the house has a room at all; without one there is nothing to choose from."""
    return Box.objects.visible_to(reader).present().filter(level=Level.ROOM).exists()


def _things(reader: Account | None) -> Any:
    return Thing.objects.visible_to(reader).present().filter(standing__in=_KEPT).order_by()


def _odd(things: Any, doubtful: Iterable[str]) -> Any:
    """Return the things whose own state, parts or kind may change what holds for their kind."""
    return things.filter(~Q(states=[]) | ~Q(parts=[]) | Q(kind_code__in=list(doubtful)))


def contents_of_units(
    reader: Account | None, house: House, doubtful: Iterable[str], only: Sequence[Node] | None = None
) -> dict[int, Contents]:
    """Return what is in each box that is carried as one, by its key; three queries, or three for ``only`` some of them.

    ``doubtful`` are kinds that may be dangerous by their age. A rough count of a kind is taken where it is larger.
    Of two that are asked for and lie in one another, the inner one has its own.
    """
    if only is None:
        units = {pk: unit.pk for pk in house.nodes if (unit := house.unit_of(pk)) is not None}
    else:
        asked = {node.pk for node in only}
        ways = {pk: next((node.pk for node in house.way(pk) if node.pk in asked), None) for pk in house.nodes}
        units = {pk: unit for pk, unit in ways.items() if unit is not None}
    narrow = Q(box__in=list(units)) if only is not None else Q(box__isnull=False)
    things = _things(reader).filter(narrow)
    found: dict[int, Contents] = {}
    recorded: dict[int, Counter[str]] = {}
    rows = things.values_list("box_id", "kind_code").annotate(Sum("count"), Max("significance"), Count("pk"))
    for box, code, pieces, significance, _ in rows:
        if box in units:
            inside = found.setdefault(units[box], Contents())
            recorded.setdefault(units[box], Counter())[code] += pieces or 0
            inside.significance = max(inside.significance or 0, significance or 0) or None
    for row in _odd(things, doubtful).values_list(*_OF_THING):
        if row[4] in units:
            found[units[row[4]]].odd.append(row)
    rough: dict[int, Counter[str]] = {}
    for box, code, count in RoughCount.objects.filter(narrow).values_list("box_id", "kind_code", "count"):
        if box in units:
            rough.setdefault(units[box], Counter())[code] += count
    for pk in {*recorded, *rough}:
        inside = found.setdefault(pk, Contents())
        known, counted = recorded.get(pk, Counter()), rough.get(pk, Counter())
        inside.kinds = Counter({code: max(known[code], counted[code]) for code in sorted({*known, *counted})})
        for row in inside.odd:
            inside.kinds.update(dict.fromkeys(row[6], row[9]))
    return found


@dataclass(frozen=True)
class Loose:
    """One thing that lies in no box."""

    pk: int
    public_id: str
    title: str
    serial_id: int
    box_id: int | None
    contents: Contents
    sides_mm: tuple[float | None, ...] = ()  # of one piece

    @property
    def number(self) -> str:
        return number_of(self.serial_id)

    def __str__(self) -> str:
        return f"{self.number} {self.title}"


def loose_things(reader: Account | None, house: House) -> list[Loose]:
    """Return the things that stand or hang somewhere in no box and are not on show now; two queries."""
    shown = Showing.objects.filter(came_down__isnull=True, is_copy=False).values("thing")
    open_places = [pk for pk, node in house.nodes.items() if node.level not in PACKED]
    rows = _things(reader).filter(box__in=open_places).exclude(pk__in=shown).values_list(*_OF_THING)
    return [_loose(row) for row in rows.order_by("pk")]


def one_thing(thing: Thing) -> Loose:
    """Return one thing by itself, wherever it lies."""
    return _loose(tuple(getattr(thing, name) for name in _OF_THING))


def _loose(row: tuple[Any, ...]) -> Loose:
    pk, public_id, title, serial, box, code, parts = row[:7]
    kinds = Counter(dict.fromkeys([code, *parts], row[9]))
    return Loose(pk, public_id, title, serial, box, Contents(kinds, row[8], [row]), row[13:16])


# -- decisions -----------------------------------------------------------------------------------------------------


def decisions() -> list[MoveDecision]:
    """Return the decision that holds on each box and thing, the latest first; one query."""
    found: dict[tuple[int | None, int | None], MoveDecision] = {}
    for each in MoveDecision.objects.select_related("box", "thing", "goal"):
        found.setdefault((each.box_id, each.thing_id), each)
    return list(found.values())


def any_answer() -> bool:
    """Say whether any move was ever accepted; without one there is nothing to do."""
    return MoveDecision.objects.filter(answer=MoveDecision.Answer.ACCEPTED).exists()


def decision_on(record: Box | Thing) -> MoveDecision | None:
    """Return the decision on where a box or thing should live that holds."""
    column = "thing" if isinstance(record, Thing) else "box"
    return MoveDecision.objects.filter(**{column: record}).select_related("goal").first()


def done(decision: MoveDecision, house: House) -> bool:
    """Say whether what was accepted is done: the box or thing stands in the goal, however deep."""
    goal = decision.goal_id
    if goal is None or goal not in house.nodes:
        return True  # the goal is gone: there is nothing left to do
    start = decision.thing.box_id if decision.thing is not None else decision.box.inside_id if decision.box else None
    return any(node.pk == goal for node in house.way(start))


def to_do(house: House) -> list[MoveDecision]:
    """Return the accepted moves that are not done, the oldest first."""
    kept = [
        each
        for each in decisions()
        if each.answer == MoveDecision.Answer.ACCEPTED
        and (each.thing is None or (each.thing.withdrawn_at is None and each.thing.standing in _KEPT))
        and (each.box is None or each.box.withdrawn_at is None)
        and not done(each, house)
    ]
    return sorted(kept, key=lambda each: (each.decided_on, each.pk))


def silenced(today: date, house: House) -> tuple[set[int], set[int]]:
    """Return the boxes and things for which no move is proposed now: refused, put off, or accepted and to be done."""
    boxes, things = set[int](), set[int]()
    for each in decisions():
        answer = each.answer
        over = answer == MoveDecision.Answer.ACCEPTED and done(each, house)
        later = answer == MoveDecision.Answer.LATER and each.until is not None and each.until <= today
        if not (over or later):
            (things if each.thing_id else boxes).add(each.thing_id or each.box_id or 0)
    return boxes, things


def find_unit(public_id: str, reader: Account | None) -> Box:
    """Return a box or folder, which is what can be carried.

    Raises:
        Http404: there is none, or none for this reader, or it is a shelf, furniture or a room.
    """
    found: Box | None = Box.objects.visible_to(reader).filter(public_id=public_id, level__in=PACKED).first()
    if found is None:
        raise Http404
    return found
