"""From the house as it is recorded to places ranked for every box and thing, by the sums of placing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import log10
from typing import Any

from archive.access.models import Account
from archive.boxes.models import Box
from archive.kinds import KIND_CODES, kind
from archive.things.models import Thing
from conservation.rooms.living import queries
from conservation.rooms.living.queries import PLACES, Contents, House, Loose, Node
from conservation.rooms.readings.queries import RoomAir
from conservation.science import cold
from conservation.science.housing import Input, flags
from conservation.science.housing.situation import UNKNOWN_BASE
from conservation.science.placing import moves, places, weigh
from conservation.science.placing.places import Place
from conservation.science.placing.signs import Found, Signs, signs
from conservation.science.placing.tables import weight
from conservation.science.traps import Count

DOUBTFUL = tuple(sorted(UNKNOWN_BASE))  # film whose base nobody knows: its danger hangs on its age
STOP = ("leave-and-call", "isolate-first")
_BAG_PCT = (cold.table()["pack"]["rh_low_pct"] + cold.table()["pack"]["rh_high_pct"]) / 2
_ROUND_A_BOX_MM = 6.0  # what a box is larger outside than inside; our default

# Room, location, furniture, cold place, and the node with a sensor of its own.
Signature = tuple[int | None, str, str, int | None, int | None]


@dataclass(frozen=True)
class Unit:
    """A box with all in it, or a thing in no box: what would be moved as one."""

    node: Node | Loose
    contents: Contents
    boxed: bool
    here: int  # key of the place where it is
    stands_in: int | None
    blocked: str  # a hazard that comes before any moving; nothing if there is none
    cold_ok: frozenset[str]  # cold appliances that may take all of it

    @property
    def is_thing(self) -> bool:
        return isinstance(self.node, Loose)


@dataclass
class Placed:
    """All places of a house, all that could be moved, and the ranking of the ones for the others."""

    house: House
    units: list[Unit]
    places: list[places.Place]
    nodes: dict[int, list[Node]]  # the nodes of each place, by its key; none for a place where only something stands
    ranking: weigh.Ranking
    at: dict[int, int] = field(default_factory=dict)  # key of a place → its column

    def number_of(self, record: Box | Thing | None) -> int | None:
        """Return which unit a box or thing is; None where it is none of them."""
        is_thing = isinstance(record, Thing)
        pk = None if record is None else record.pk
        same = (n for n, unit in enumerate(self.units) if unit.is_thing == is_thing and unit.node.pk == pk)
        return next(same, None)

    def place_of(self, node: int | None) -> Place | None:
        """Return the place that a node of the tree is of; None where it is no place, such as a box."""
        return next((each for each in self.places if any(n.pk == node for n in self.nodes.get(each.key, ()))), None)


def _signature(house: House, pk: int | None, own_location: str = "") -> Signature:
    """Return what a node shares with all nodes that are alike: room, part of the house, furniture, cold place, air."""
    location, furniture, cold_place, own_air = own_location, "", None, None
    room = None
    for node in house.way(pk):
        said = house.said.get(node.pk, ("", ""))
        furniture, location = furniture or said[0], location or said[1]
        if cold_place is None and node.pk in house.cold:
            cold_place = node.pk
        if own_air is None and room is None and node.pk in house.own_air:
            own_air = node.pk
        if node.level == "room" and room is None:
            room = node.pk
    if own_air is not None and house.own_air[own_air].room_id != room:
        own_air = None  # it was carried to another room, and its readings are of the one before
    return room, location, furniture, cold_place, own_air


def needed_kinds(units: Iterable[Unit]) -> list[str]:
    """Return every kind that is in any of the units."""
    return sorted({code for unit in units for code in unit.contents.kinds})


def air_of(found: RoomAir, codes: Iterable[str]) -> places.Air:
    """Return measured air as placing reads it: shares of time outside the limits of the kinds that are asked for."""
    hours = max(found.days_covered * 24, 0.01)
    fits = {}
    for code in codes:
        suits = found.of_kind(code)
        if suits.share_in_hard is not None:
            outside = (suits.hours_too_damp, suits.hours_too_dry, suits.hours_too_warm, suits.hours_too_cold)
            fits[code] = places.suits_of(outside, hours, suits.share_in_hard, suits.verdict, suits.home_ok)
    mean_c, mean_pct = found.temperature.mean, found.humidity.mean
    evidence: places.Evidence = "measured" if found.days_covered >= weight("part_days") else "part"
    life = places.lives(found.life_ea70, found.life_ea100, mean_c, mean_pct)
    return places.Air(evidence, life, fits, found.days_covered, mean_c, mean_pct)


def _facts(house: House, room: int | None) -> dict[str, Any]:
    facts = house.facts.get(room or 0)
    if facts is None:
        return {}
    names = ("floor", "heat", "outside_walls", "light", "equipment", "water")
    return {name: getattr(facts, name) for name in names}


def signs_of(house: House, room: int | None) -> Signs:
    """Return what was seen of pests and water in a room in the last months."""
    found = [Found(check, gravity, closed is None) for pk, check, gravity, closed in house.findings if pk == room]
    traps = [
        [Count(each.counted_on, each.since, each.animals) for each in counts]
        for pk, counts in house.counts.values()
        if pk == room
    ]
    return signs(found, traps)


def _place(house: House, key: int, signature: Signature, codes: Sequence[str]) -> places.Place:
    room, location, furniture, cold_place, own_air = signature
    facts = _facts(house, room)
    floor = facts.get("floor", "")
    if cold_place is not None:
        appliance = house.cold[cold_place]
        bag = float(appliance.card_pct or _BAG_PCT)
        known = appliance.temperature_c is not None
        air = places.cold_air(appliance.temperature_c, bag) if known else places.UNKNOWN_AIR
        return places.Place(key, air, light=0, furniture="", location="", cold=appliance.appliance)
    if own_air is not None:
        air = air_of(house.own_air[own_air], codes)
    elif room in house.air:
        air = air_of(house.air[room], codes)
    else:
        guess = places.guess_of(facts, location)
        air = places.guessed_air(guess) if guess is not None else places.UNKNOWN_AIR
    light = places.light_class(facts.get("light", ""), house.lux.get(room or 0), location)
    seen = signs_of(house, room)
    water = places.water_risk(floor, facts.get("water") or (), location, seen.water)
    pests = places.pest_risk(floor, location, seen.pests)
    return places.Place(key, air, light, water, pests, location, furniture, signs=seen)


def make_unit(house: House, node: Node | Loose, contents: Contents, key_of: dict[Signature, int]) -> Unit:
    """Return a box or thing as it would be moved, with where it stands now."""
    thing = isinstance(node, Loose)
    own = "" if thing else house.said.get(node.pk, ("", ""))[1]
    stands_in = node.box_id if isinstance(node, Loose) else node.inside_id
    signature = _signature(house, stands_in, own)
    here = key_of.setdefault(signature, len(key_of) + 1)
    codes = [code for code in contents.kinds if code in KIND_CODES] or ["unknown"]
    boxed = not thing or house.unit_of(stands_in) is not None
    return Unit(node, contents, boxed, here, stands_in, _blocked(contents), _cold_ok(codes, contents))


def _blocked(contents: Contents) -> str:
    """Return the hazard that comes before any moving of what is in a box; nothing if there is none."""
    for code in contents.kinds:
        if code in KIND_CODES and code not in DOUBTFUL:
            level, hazards = flags(code)
            if level in STOP:
                return hazards[0]
    for row in contents.odd:
        code, parts, states, earliest, base, weight_g = row[5], row[6], row[7], row[10], row[11], row[12]
        level, hazards = flags(code, tuple(states), tuple(parts), earliest or None, base or None, weight_g)
        if level in STOP:
            return hazards[0]
    rough = {code for code in contents.kinds if code in DOUBTFUL} - {row[5] for row in contents.odd}
    return "nitrate" if rough else ""


def _cold_ok(codes: Sequence[str], contents: Contents) -> frozenset[str]:
    """Return the cold appliances that may take everything in a box."""
    asked = {(code, (), (), "", "") for code in codes if code not in DOUBTFUL}
    asked |= {(row[5], tuple(row[6]), tuple(row[7]), row[11] or "", row[10] or "") for row in contents.odd}
    found = frozenset(cold.APPLIANCES) if asked else frozenset[str]()
    for each in asked:
        if not found:
            break
        found &= _cold_for(*each)
    return found


@lru_cache(maxsize=20_000)
def _cold_for(code: str, parts: tuple[str, ...], states: tuple[str, ...], base: str, earliest: str) -> frozenset[str]:
    """Return the cold appliances that may take one thing."""
    made = {"earliest": earliest, "latest": None} if earliest else None
    problem = {"kind": code, "parts": list(parts), "states": list(states), "base": base or None, "made": made}
    answer = cold.may_live_cold(Input.model_validate(problem))
    return frozenset(each for each in cold.APPLIANCES if answer.fits(each))


def place_all(house: House, found: Sequence[tuple[Node | Loose, Contents]]) -> Placed:
    """Rank all places of the house for boxes and things."""
    key_of: dict[Signature, int] = {}
    nodes: dict[int, list[Node]] = {}
    for node in house.nodes.values():
        if node.level in PLACES and house.room_of(node.pk) is not None:
            signature = _signature(house, node.pk)
            nodes.setdefault(key_of.setdefault(signature, len(key_of) + 1), []).append(node)
    units = [make_unit(house, node, contents, key_of) for node, contents in found]
    codes = needed_kinds(units)
    rows = [_place(house, key, signature, codes) for signature, key in key_of.items()]
    loads = [
        weigh.Load(
            number, tuple(code for code in unit.contents.kinds if code in KIND_CODES) or ("unknown",), unit.boxed,
            _worth(unit),
        )
        for number, unit in enumerate(units)
    ]  # fmt: skip
    ranking = weigh.rank(loads, rows)
    return Placed(house, units, rows, nodes, ranking, {place.key: column for column, place in enumerate(rows)})


def _worth(unit: Unit) -> float:
    """Return how much a move is worth: the most significant thing in it, and slowly more with the number of pieces."""
    pieces = sum(unit.contents.kinds.values())
    return (unit.contents.significance or weight("significance_unknown")) * (1 + log10(max(1, pieces)))


def open_to(unit: Unit, place: places.Place) -> bool:
    """Say whether a unit may go to a place at all: into the cold only what may live there."""
    return not place.cold or place.cold in unit.cold_ok


# -- which node of a place -----------------------------------------------------------------------------------------


def _outer(node: Node | Loose) -> tuple[float | None, float | None, float | None]:
    if isinstance(node, Loose):
        known = sorted(side for side in node.sides_mm if side)
        return (known[2], known[0], known[1]) if len(known) == 3 else (None, None, None)  # it may lie down
    sizes = [None if side is None else side + _ROUND_A_BOX_MM for side in node.inner_mm]
    return (sizes[0], sizes[1], sizes[2])


def volume(node: Node | Loose) -> float | None:
    """Return what a box takes on a shelf [mm³]; None where a size is not known."""
    sides = [side for side in _outer(node) if side]
    return sides[0] * sides[1] * sides[2] if len(sides) == 3 else None


def rooms_left(placed: Placed) -> dict[int, float | None]:
    """Return the free room of every shelf, piece of furniture and room [mm³], None where its size is not known."""
    held: dict[int, list[float]] = {}
    for node in placed.house.nodes.values():
        if node.inside_id is not None and (takes := volume(node)) is not None:
            held.setdefault(node.inside_id, []).append(takes)
    found: dict[int, float | None] = {}
    for group in placed.nodes.values():
        for node in group:
            free = moves.room_left(node.inner_mm, held.get(node.pk, []))
            found[node.pk] = None if node.level == "room" else free
    return found


def goals(placed: Placed, unit: Unit, place: places.Place, left: Mapping[int, float | None]) -> list[Node]:
    """Return the nodes of a place into which a unit could go, the likeliest first.

    Shelves whose size is known and that have room come first, then other furniture, then the room itself. What it does
    not go into, and what it stands in already, is left out.
    """
    takes = volume(unit.node) or 0.0
    found: list[tuple[tuple[int, float, int], Node]] = []
    order = {"shelf": 0, "furniture": 1, "room": 2}
    for node in placed.nodes.get(place.key, ()):
        free = left.get(node.pk)
        if node.pk == unit.stands_in or (free is not None and free < takes):
            continue
        if moves.goes_in(_outer(unit.node), node.inner_mm) is False or not _holds(unit, node):
            continue
        found.append(((order[node.level] + (0 if free is not None else 1), -(free or 0.0), node.pk), node))
    return [node for _, node in sorted(found, key=lambda pair: pair[0])]


def _holds(unit: Unit, node: Node) -> bool:
    """Say whether a node may be the goal: not something that stands in what is moved."""
    return isinstance(unit.node, Loose) or node.pk != unit.node.pk


# -- the moves that help most ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Move:
    """One move that would help: what, from where, into which node of which place, and how much it gains."""

    number: int  # of the unit
    unit: Unit
    place: places.Place
    goal: Node
    benefit: float


def best_moves(placed: Placed, how_many: int, quiet: tuple[set[int], set[int]]) -> list[Move]:
    """Return the moves that help most together; ``quiet`` are boxes and things for which none is proposed now."""
    left = rooms_left(placed)
    candidates: list[moves.Candidate] = []
    found: dict[tuple[int, int], Move] = {}
    for number, unit in enumerate(placed.units):
        if unit.blocked or unit.node.pk in quiet[1 if unit.is_thing else 0] or _stays(unit):
            continue
        for place, gain in better_places(placed, number):
            nodes = goals(placed, unit, place, left)[:how_many]
            for node in nodes:
                benefit = gain * placed.ranking.loads[number].worth
                candidates.append(moves.Candidate(number, node.pk, benefit, volume(unit.node)))
                found[number, node.pk] = Move(number, unit, place, node, benefit)
    return [found[each.load, each.node] for each in moves.choose(candidates, how_many, left)]


def _stays(unit: Unit) -> bool:
    """Say whether a thing is not moved for its own sake: furniture stands where the house has room for it."""
    return unit.is_thing and "furniture" in unit.contents.kinds


def better_places(placed: Placed, number: int) -> list[tuple[places.Place, float]]:
    """Return the places worth a move for a unit, with the gain, the best first; at most the best eight."""
    unit, ranking = placed.units[number], placed.ranking
    here = placed.at[unit.here]
    rows = [
        (placed.places[column], ranking.gain(number, here, column))
        for column in ranking.order(number)
        if column != here and open_to(unit, placed.places[column]) and ranking.better(number, here, column)
    ]
    return sorted(rows, key=lambda row: -row[1])[:8]


def name_of_kind(code: str) -> str:
    """Return a kind in words."""
    return kind(code).name if code in KIND_CODES else code


# -- whole house, or one -----------------------------------------------------------------------------------------------


def whole_house(house: House, who: Account | None) -> Placed:
    """Rank all places for every box and every thing in no box."""
    boxes = queries.contents_of_units(who, house, DOUBTFUL)
    found: list[tuple[Node | Loose, Contents]] = [
        (house.nodes[pk], inside) for pk, inside in boxes.items() if inside.kinds
    ]
    found += [(each, each.contents) for each in queries.loose_things(who, house)]
    return place_all(house, found)


def of_one(house: House, who: Account | None, record: Box | Thing) -> Placed | None:
    """Rank all places for one box or thing; None where nothing is known of what is in it."""
    if isinstance(record, Thing):
        loose = queries.one_thing(record)
        return place_all(house, [(loose, loose.contents)])
    node = house.nodes.get(record.pk)
    if node is None:
        return None
    inside = queries.contents_of_units(who, house, DOUBTFUL, [node]).get(node.pk)
    return place_all(house, [(node, inside)]) if inside is not None and inside.kinds else None


def of_some(house: House, who: Account | None, records: Iterable[Box | Thing | None]) -> Placed:
    """Rank all places for some boxes and things; those of which nothing is known are left out."""
    found: list[tuple[Node | Loose, Contents]] = []
    nodes = []
    for record in records:
        if isinstance(record, Thing):
            loose = queries.one_thing(record)
            found.append((loose, loose.contents))
        elif record is not None and record.pk in house.nodes:
            nodes.append(house.nodes[record.pk])
    if nodes:
        inside = queries.contents_of_units(who, house, DOUBTFUL, nodes)
        found += [(house.nodes[pk], each) for pk, each in inside.items() if each.kinds]
    return place_all(house, found)


def unknown_rooms(house: House) -> list[Node]:
    """Return the rooms whose air is neither measured nor guessed, because nobody has said what they are like."""
    return [
        node
        for node in house.nodes.values()
        if node.level == "room" and _place(house, 0, _signature(house, node.pk), ()).air.evidence == "unknown"
    ]
