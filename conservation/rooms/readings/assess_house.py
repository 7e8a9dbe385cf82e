"""Rooms beside one another: how they compare, where things would be better off, and the list of rooms."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from archive.boxes.models import Box
from archive.kinds import KIND_CODES
from archive.preferences.models import Preferences
from archive.preferences.units import fahrenheit
from conservation.rooms.readings.assess_room import (
    FEW_DAYS,
    LEAST_GAIN,
    KindLine,
    headline,
    kind_lines,
    well,
)
from conservation.rooms.readings.queries import RoomAir
from conservation.science.spells import compared


def comparisons(here: Box, airs: Mapping[int, RoomAir], rooms: Mapping[int, Box]) -> list[str]:
    """Say how fast paper ages in a room against the best and the worst of the others."""
    air = airs.get(here.pk)
    others = sorted(
        (each for each in airs.values() if each.room_id != here.pk and each.room_id in rooms and each.days >= FEW_DAYS),
        key=lambda each: each.life_ea100,
    )
    if air is None or air.days < FEW_DAYS or not others:
        return []
    chosen = [others[-1]] if len(others) == 1 else [others[-1], others[0]]
    return [f"Paper here ages {_than(air, each, rooms[each.room_id].title)}." for each in chosen]


def _than(here: RoomAir, there: RoomAir, title: str) -> str:
    return f"{compared(here.life_ea100, there.life_ea100)} in {title}"


def between_rooms(airs: Mapping[int, RoomAir], rooms: Mapping[int, Box]) -> str:
    """Say the widest difference between the rooms of a house in one sentence; nothing with fewer than two."""
    known = sorted(
        (each for each in airs.values() if each.room_id in rooms and each.days >= FEW_DAYS),
        key=lambda each: each.life_ea100,
    )
    if len(known) < 2:
        return ""
    fast, slow = known[0], known[-1]
    return f"Paper in {rooms[fast.room_id].title} ages {_than(fast, slow, rooms[slow.room_id].title)}."


def better_room(here: Box, airs: Mapping[int, RoomAir], rooms: Mapping[int, Box], kinds: Mapping[str, int]) -> str:
    """Say in which other measured room what lies here would be better off, and by how much; nothing if in none."""
    air = airs.get(here.pk)
    if air is None or not any(code in KIND_CODES for code in kinds):
        return ""
    now = well(air.answer["year"]["fits"], kinds, 1)
    best, best_air = now + LEAST_GAIN, None
    for each in airs.values():
        if each.room_id == here.pk or each.room_id not in rooms or each.days < FEW_DAYS:
            continue
        share = well(each.answer["year"]["fits"], kinds, 1)
        if share > best:
            best, best_air = share, each
    if best_air is None:
        return ""
    return (
        f"In {rooms[best_air.room_id].title} the same things would be within what they bear {100 * best:.0f} % of the "
        f"time, here {100 * now:.0f} %."
    )


@dataclass(frozen=True)
class RoomLine:
    """One room in the list of rooms."""

    room: Box
    words: str
    air: str
    facts: str
    unhappy: int
    line: KindLine | None  # all that lies here together, for its bar
    order: tuple[Any, ...]


def room_line(room: Box, air: RoomAir | None, kinds: Mapping[str, int], facts: Any, kept: Preferences) -> RoomLine:
    """Say in one line who in a room is unhappy."""
    told = " · ".join(f"{each.label}: {each.words}" for each in facts[:3])
    things = sum(kinds.values())
    if air is None:
        lie = "one thing lies" if things == 1 else f"{things} things lie"
        words = f"Not measured; {lie} here." if things else "Not measured."
        return RoomLine(room, words, "", told, 0, None, (1 if things else 3, -things, room.title_folded))
    inch = kept.units == Preferences.Units.INCH
    hours = float(air.answer["year"]["hours"])
    lines = kind_lines(air, kinds, hours, inch)
    unhappy = sum(line.count for line in lines if line.verdict == "unsuitable")
    t, h = air.temperature, air.humidity
    unit = "°F" if inch else "°C"
    low, high = (fahrenheit(t.p05), fahrenheit(t.p95)) if inch else (t.p05, t.p95)
    mostly = f"Mostly {low:.0f} to {high:.0f} {unit} and {h.p05:.0f} to {h.p95:.0f} %"
    words = headline(lines, sum(line.count for line in lines), unhappy) if lines else "Nothing lies here."
    whole = _together([line for line in lines if line.verdict])
    return RoomLine(room, words, mostly, told, unhappy, whole, (0 if unhappy else 2, -unhappy, room.title_folded))


def _together(lines: list[KindLine]) -> KindLine | None:
    """Return one bar for all kinds of a room, each weighing as much as there is of it."""
    count = sum(line.count for line in lines)
    if not count:
        return None
    best = sum(line.count * line.best for line in lines) / count
    beyond = sum(line.count * line.beyond for line in lines) / count
    return KindLine("", count, "watch", "", round(best, 1), round(100 - best - beyond, 1), round(beyond, 1), "")
