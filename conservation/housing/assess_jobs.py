"""What housing asks for as jobs: dangers that nobody has dealt with, and how delicate and exposed a thing is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from conservation.housing.assess import STOP_LEVELS
from conservation.housing.assess_whole import need_figures, vulnerability
from conservation.science.housing import flags
from conservation.science.housing.situation import UNKNOWN_BASE
from conservation.science.housing.tables import hazards, hazards_of_kind, hazards_of_state
from conservation.science.words import word

_SPREADS = frozenset({"pest"})  # it eats things, not people
_STAYS = frozenset({"asbestos", "chemical", "mercury", "radium"})
_LEAVE = "leave-and-call"


@dataclass
class Danger:
    """A hazard, and the things that bring it; the one that matters most first."""

    code: str
    leave: bool
    things: list[Any] = field(default_factory=list)

    @property
    def name(self) -> str:
        return word("hazard", self.code)

    @property
    def say(self) -> str:
        """The caution, as on the page of a thing."""
        return hazards()[self.code].say

    @property
    def first(self) -> str:
        """What to do in the first ten minutes: whom to call."""
        calls = [word("call", code) for code in hazards()[self.code].call]
        if self.leave:
            return f"do not touch it; keep everybody away, and ring {calls[0]}"
        return "keep others away, and read what its page says before you touch it"

    @property
    def spreads(self) -> bool:
        """Say whether it harms things and not people."""
        return self.code in _SPREADS

    @property
    def stays(self) -> bool:
        """Say whether moving it is itself the danger."""
        return self.code in _STAYS

    @property
    def weight(self) -> float:
        return 30.0 if self.leave else 15.0


@cache
def bringers() -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Return the kinds and states that may bring a hazard of the first two levels, and the kinds nobody touches."""
    from archive.kinds import KIND_CODES, STATE_CODES

    kinds = {code for code in KIND_CODES if any(level in STOP_LEVELS for _, level in hazards_of_kind(code))}
    states = {code for code in STATE_CODES if any(level in STOP_LEVELS for _, level in hazards_of_state(code))}
    # Film may turn out to be nitrate, and celluloid becomes dangerous as it decays.
    kinds |= {*UNKNOWN_BASE, "celluloid-object"}
    leave = {code for code in KIND_CODES if any(level == _LEAVE for _, level in hazards_of_kind(code))}
    return tuple(sorted(kinds)), tuple(sorted(states)), tuple(sorted(leave))


def dangers(things: Iterable[Any]) -> list[Danger]:
    """Return the hazards of the first two levels that some things bring, each with its things, the worst first."""
    found: dict[str, Danger] = {}
    for thing in things:
        level, codes = flags(
            thing.kind_code, tuple(thing.states), tuple(thing.parts), thing.made_earliest or None,
            thing.film_base or None, thing.weight_g,
        )  # fmt: skip
        if level not in STOP_LEVELS or not codes:
            continue
        danger = found.setdefault(codes[0], Danger(codes[0], level == _LEAVE))
        danger.leave |= level == _LEAVE
        danger.things.append(thing)
    for danger in found.values():
        danger.things.sort(key=lambda thing: (-(thing.significance or 0), thing.pk))
    return sorted(found.values(), key=lambda danger: (not danger.leave, danger.code))


def vulnerable(kind_code: str) -> float:
    """Return how delicate a kind is, 1 to 3; our default."""
    return next((value for value, kinds in vulnerability().items() if kind_code in kinds), 2.0)


def exposed(states: Sequence[str]) -> float:
    """Return how exposed a thing is, 1 to 3, by the damage it has already; our default."""
    return need_figures()["damaged"] if states else 1.0
