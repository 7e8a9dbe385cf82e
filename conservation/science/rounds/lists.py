"""Which checks a room's list holds: only what is there is asked about."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from conservation.science.rounds.tables import Check, checks, groups_of

METAL_FURNITURE = frozenset({"powder-coated-steel", "enamelled-steel", "aluminium", "chrome-wire", "biscuit-tin"})
WOOD_FURNITURE = frozenset(
    {"oak", "hardwood", "softwood", "plywood", "painted-wood-acrylic", "painted-wood-oil", "cedar-chest"}
)
RISKY_FLOORS = frozenset({"cellar", "loft", "outside"})


@dataclass(frozen=True)
class Fill:
    """What is in a room: facts as the keeper gave them (None, or empty, where nobody has said), kinds and furniture."""

    floor: str = ""
    outside_walls: tuple[str, ...] = ()
    windows: int | None = None
    heat: tuple[str, ...] = ()
    water: tuple[str, ...] = ()
    equipment: tuple[str, ...] = ()
    kinds: frozenset[str] = frozenset()
    furniture: frozenset[str] = frozenset()


def room_words(fill: Fill) -> frozenset[str]:
    """Return the words that are true of a room, as the ``when`` of checks names them.

    A room whose windows nobody has counted is taken to have some; equipment, heat and water are there only if said.
    """
    words = {f"heat:{each}" for each in fill.heat} | {f"water:{each}" for each in fill.water}
    words |= {f"equipment:{each}" for each in fill.equipment}
    words |= {f"holds:{each}" for each in groups_of(fill.kinds)}
    if fill.floor:
        words.add(f"floor:{fill.floor}")
    if fill.outside_walls:
        words.add("outside-wall")
    if fill.windows is None or fill.windows > 0:
        words.add("windows")
    if fill.furniture & METAL_FURNITURE:
        words.add("stands:metal")
    if fill.furniture & WOOD_FURNITURE:
        words.add("stands:wood")
    return frozenset(words)


def checks_for(words: Iterable[str]) -> tuple[Check, ...]:
    """Return the checks of a room of which these words are true, in the order of the table."""
    there = frozenset(words)
    return tuple(check for check in checks().values() if not check.when or check.when & there)
