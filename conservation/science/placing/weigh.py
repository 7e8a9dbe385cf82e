"""Ranking places for what is in boxes: the most demanding kind governs, and never does a worse place fare better.

A burden is a number without a unit, nothing where all is well; the smaller one is the better place. It rises with every
single thing that is worse, and so does the verdict.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from conservation.science.housing import sensitivity_of, verdicts
from conservation.science.housing.tables import care, rows
from conservation.science.placing.places import VERDICTS, Place, Verdict
from conservation.science.placing.tables import lasting, weight

WOOD = frozenset(
    {
        "oak",
        "hardwood",
        "softwood",
        "plywood",
        "mdf-or-chipboard",
        "melamine-wardrobe",
        "painted-wood-oil",
        "cedar-chest",
    }
)
_SUITS, _WATCH, _UNMEASURED, _UNSUITABLE = range(len(VERDICTS))


@dataclass(frozen=True, slots=True)
class Load:
    """What would be moved as one: the kinds in it, whether it is a closed box, and what it is worth to the family."""

    key: int
    kinds: tuple[str, ...]
    boxed: bool
    worth: float = 1.0


@dataclass(frozen=True)
class Parts:
    """What one kind would suffer in one place, part by part; all without a unit."""

    ageing: float
    damp: float
    dry: float
    warm: float
    cold: float
    hard: float
    light: float
    water: float
    pests: float
    furniture: float

    @property
    def of_air(self) -> float:
        return self.ageing + self.damp + self.dry + self.warm + self.cold + self.hard

    @property
    def rest(self) -> float:
        return self.light + self.water + self.pests + self.furniture


def parts(code: str, place: Place, boxed: bool) -> Parts:
    """Return what a kind would suffer in a place; the parts of the air are nothing where the air is not known."""
    humidity, light, _, pests = sensitivity_of(code)
    fit = place.air.fits.get(code)
    wet = 0.5 + humidity / 3
    life = place.air.life.get(lasting(code), 1.0)
    ages = place.air.evidence != "unknown" and lasting(code) != "none"
    brightness = place.light or 0
    return Parts(
        ageing=weight("ageing") / life if ages else 0.0,
        damp=weight("damp") * wet * fit.damp if fit else 0.0,
        dry=weight("dry") * wet * fit.dry if fit else 0.0,
        warm=weight("warm") * fit.warm if fit else 0.0,
        cold=weight("cold") * fit.cold if fit else 0.0,
        hard=weight("outside_hard") * fit.outside_hard if fit else 0.0,
        light=weight("light") * brightness / 3 * light / 3 * (weight("light_in_box") if boxed else 1.0),
        water=weight("water") * place.water / 3,
        pests=weight("pests") * place.pests / 3 * pests / 3,
        furniture=weight("furniture_poor") if _poor_furniture(place.furniture) else 0.0,
    )


def _poor_furniture(code: str) -> bool:
    return bool(code) and verdicts()["furniture"][code].verdict == "poor"


def verdict_on(code: str, place: Place, boxed: bool) -> Verdict:
    """Return whether a place suits a kind: the worst of air, light, water, pests, part of the house and furniture.

    Air that is guessed, or was read for less than half a year, is at best watched; air that nobody knows is said to be
    unmeasured, unless something else already rules the place out.
    """
    return VERDICTS[max(_air_says(code, place), _place_says(code, place, boxed))]


def _air_says(code: str, place: Place) -> int:
    fit = place.air.fits.get(code)
    if place.air.evidence == "unknown" or fit is None:
        return _UNMEASURED
    said = VERDICTS.index(fit.verdict)
    return max(said, _WATCH) if place.air.evidence in ("guessed", "part") else said


def _place_says(code: str, place: Place, boxed: bool) -> int:
    _, light, _, pests = sensitivity_of(code)
    said = _SUITS
    if place.light is not None and not boxed:
        said = max(said, {0: _SUITS, 1: _SUITS, 2: _WATCH, 3: _UNSUITABLE}[place.light] if light >= 2 else _SUITS)
        said = max(said, _WATCH if place.light == 3 and light == 1 else _SUITS)
    said = max(said, (_SUITS, _SUITS, _WATCH, _UNSUITABLE)[place.water])
    said = max(said, _WATCH if place.pests >= 2 and pests >= 2 else _SUITS)
    if place.location and verdicts()["location"][place.location].verdict == "poor":
        said = _UNSUITABLE
    if _poor_furniture(place.furniture):
        bare_wood = place.furniture in WOOD and "wood" in rows()[care()[code].housing].never
        said = max(said, _UNSUITABLE if bare_wood else _WATCH)
    return said


def barred(place: Place) -> bool:
    """Say whether nothing should be moved to a place, whatever its air: water stands near, or housing warns of it."""
    poor = bool(place.location) and verdicts()["location"][place.location].verdict == "poor"
    return poor or place.water >= 3


def causes(code: str, place: Place, boxed: bool) -> list[str]:
    """Return the codes of what keeps a place from suiting a kind: air, unknown, light, water, pests and so on."""
    _, light, _, pests = sensitivity_of(code)
    air = _air_says(code, place)
    found = {"unknown": air == _UNMEASURED, "air": air == _UNSUITABLE, "not-best": air == _WATCH and not _guess(place)}
    found["guess"] = air == _WATCH and _guess(place)
    found["light"] = not boxed and place.light is not None and place.light >= 2 and light >= 1
    found["water"] = place.water >= 2
    found["pests"] = place.pests >= 2 and pests >= 2
    found["location"] = bool(place.location) and verdicts()["location"][place.location].verdict == "poor"
    found["furniture"] = _poor_furniture(place.furniture)
    return [name for name, holds in found.items() if holds]


def _guess(place: Place) -> bool:
    return place.air.evidence in ("guessed", "part")


@dataclass(frozen=True)
class Ranking:
    """Loads by places: burdens of the air and of the rest, verdicts, and the kind that governs each."""

    loads: tuple[Load, ...]
    places: tuple[Place, ...]
    air: Any  # array loads × places: the burden of the air, of the kind that suffers most in all
    rest: Any  # the same of light, water, pests, furniture
    verdict: Any  # index into VERDICTS
    governs: Any  # index of the governing kind in the load's kinds
    known: Any  # array places of bool: the air is known

    def order(self, load: int) -> list[int]:
        """Return the places from best to worst for a load: by verdict, then by burden, then as they were given."""
        total = self.air[load] + self.rest[load]
        return [int(each) for each in np.lexsort((np.arange(len(self.places)), total, self.verdict[load]))]

    def gain(self, load: int, here: int, there: int) -> float:
        """Return what a load gains by moving; where the air of either is unknown, only the rest counts."""
        rest = float(self.rest[load, here] - self.rest[load, there])
        if not (self.known[here] and self.known[there]):
            return rest
        return rest + float(self.air[load, here] - self.air[load, there])

    def better(self, load: int, here: int, there: int) -> bool:
        """Say whether a move is worth proposing: to a place known to be fit, no worse in verdict, with a gain.

        From one bad place to another only for a great gain, and never to where nothing should stand.
        """
        verdict, gain = self.verdict[load], self.gain(load, here, there)
        if verdict[there] <= _WATCH:
            return bool(verdict[there] <= verdict[here] and gain >= weight("least_gain"))
        both_bad = verdict[there] == verdict[here] == _UNSUITABLE and bool(self.known[there])
        return both_bad and not barred(self.places[there]) and gain >= weight("gain_among_bad")


def rank(loads: Sequence[Load], places: Iterable[Place]) -> Ranking:
    """Return every load against every place.

    Parameters
    ----------
    loads : what would be moved, each with at least one kind
    places : the places of the house

    Returns
    -------
    Ranking

    Notes
    -----
    Each kind is weighed once in each place, so that thousands of boxes cost no more than the kinds there are.
    """
    places = tuple(places)
    codes = sorted({code for load in loads for code in load.kinds})
    at = {code: position for position, code in enumerate(codes)}
    shape = (2, len(codes), len(places))
    air, rest, said = np.zeros(shape), np.zeros(shape), np.zeros(shape, dtype=np.int8)
    for boxed in (0, 1):
        for row, code in enumerate(codes):
            for column, place in enumerate(places):
                found = parts(code, place, bool(boxed))
                air[boxed, row, column], rest[boxed, row, column] = found.of_air, found.rest
                said[boxed, row, column] = VERDICTS.index(verdict_on(code, place, bool(boxed)))
    total = air + rest
    size = (len(loads), len(places))
    of_air, of_rest = np.zeros(size), np.zeros(size)
    verdict, governs = np.zeros(size, dtype=np.int8), np.zeros(size, dtype=np.int32)
    columns = np.arange(len(places))
    for number, load in enumerate(loads):
        which, boxed = [at[code] for code in load.kinds], int(load.boxed)
        worst = total[boxed, which].argmax(axis=0)
        governs[number] = worst
        of_air[number] = air[boxed, which][worst, columns]
        of_rest[number] = rest[boxed, which][worst, columns]
        verdict[number] = said[boxed, which].max(axis=0)
    known = np.array([place.air.evidence != "unknown" for place in places], dtype=bool)
    return Ranking(tuple(loads), places, of_air, of_rest, verdict, governs, known)
