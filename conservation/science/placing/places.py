"""What a place of the house is like: its air, read or guessed; light, water and pests; and how that suits kinds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Literal

import numpy as np

from conservation.science.ageing import (
    ENERGY_CELLULOSE_KJ,
    ENERGY_SLOW_KJ,
    acetate_years_by_rate,
    mean_life_multiplier,
)
from conservation.science.housing import limits
from conservation.science.housing.tables import care
from conservation.science.placing.signs import NOTHING_SEEN, Signs, risk_with
from conservation.science.placing.tables import table
from conservation.science.room_fit import kind_fit

Evidence = Literal["measured", "part", "guessed", "unknown"]
Verdict = Literal["suits", "watch", "unmeasured", "unsuitable"]
VERDICTS: tuple[Verdict, ...] = ("suits", "watch", "unmeasured", "unsuitable")
HOURS_A_YEAR = 8760.0
_SAMPLES_A_DAY = 4
_HOTTEST_DAY = 200  # about the third week of July; which day it is does not matter for a whole year


@dataclass(frozen=True, slots=True)
class Suits:
    """How some air suits one kind over a year: shares of time 0 to 1 outside its limits, and the verdict on the air."""

    damp: float
    dry: float
    warm: float
    cold: float
    outside_hard: float
    verdict: Verdict


@dataclass(frozen=True)
class Air:
    """The air of a place over a year.

    ``life`` says how many times as long things last as at 20 °C and 50 %, by the law they follow (`tables.lasting`);
    ``days`` is how many days were measured.
    """

    evidence: Evidence
    life: Mapping[str, float] = field(default_factory=dict)
    fits: Mapping[str, Suits] = field(default_factory=dict)  # by kind
    days: float = 0.0
    mean_c: float | None = None
    mean_pct: float | None = None


UNKNOWN_AIR = Air("unknown")


@dataclass(frozen=True, slots=True)
class Place:
    """One place, or many alike: its air, light 0 to 3 (None not known), water and pests 0 to 3, and what it is."""

    key: int
    air: Air
    light: int | None = None
    water: int = 0
    pests: int = 0
    location: str = ""
    furniture: str = ""
    cold: str = ""  # refrigerator, freezer, or nothing
    signs: Signs = NOTHING_SEEN


# -- air -----------------------------------------------------------------------------------------------------------


def lives(energy70: float, energy100: float, mean_c: float, mean_pct: float) -> dict[str, float]:
    """Return how many times as long things last, by law, from the two life multipliers and the mean air of a year.

    Acetate film goes by the rate fitted to its guide's table; outside 1 to 99 % that has no meaning and the humidity
    is held there.
    """
    held = min(max(mean_pct, 1.0), 99.0)
    acetate = acetate_years_by_rate(mean_c, held) / acetate_years_by_rate(20.0, 50.0)
    return {"slow": energy70, "cellulose": energy100, "acetate": float(acetate), "none": 1.0}


@dataclass(frozen=True, slots=True)
class Guess:
    """The yearly course of guessed air: means of the coldest and warmest month, and swings within a day."""

    winter_c: float
    summer_c: float
    winter_pct: float
    summer_pct: float
    day_c: float
    day_pct: float
    most_c: float = 100.0
    most_pct: float = 100.0


def guess_of(facts: Mapping[str, Any], location: str) -> Guess | None:
    """Return the guessed course of a room's air from what is known of it; None where that is too little.

    ``facts`` are those of a room: ``floor``, ``heat``, ``outside_walls``, ``light``, ``equipment``; ``location`` is a
    code of the list of places in a house, which stands in for the floor where nobody has said it.
    """
    floors = {"loft": "loft", "cellar": "cellar", "garage": "outside", "shed": "outside"}
    inside = {"bathroom": "ground", "kitchen": "ground", "laundry": "ground"}
    floor = facts.get("floor") or floors.get(location) or inside.get(location)
    if not floor:
        return None
    heat = set(facts.get("heat") or ())
    usual = floor in ("ground", "upper")  # a room of which nobody said how it is heated, is heated if it is lived in
    heated = bool(heat - {"none"}) if heat else usual
    rows = table()["guess"]
    figures = {name: float(value) for name, value in rows["heated" if heated else "unheated"][floor].items()}
    changes = [location]
    changes += ["outside_walls_two"] if len(facts.get("outside_walls") or ()) >= 2 else []
    changes += ["sun"] if facts.get("light") == "sun" else []
    for name in changes:
        for figure, added in rows["change"].get(name, {}).items():
            figures[figure] += added
    equipment, bound = set(facts.get("equipment") or ()), rows["bound"]
    if "dehumidifier" in equipment:
        figures["most_pct"] = float(bound["dehumidifier_pct"])
    if "air-conditioner" in equipment:
        figures["most_c"] = float(bound["air-conditioner_c"])
    return Guess(**figures)


@lru_cache(maxsize=500)
def guessed_air(guess: Guess) -> Air:
    """Return the air of a year that runs as guessed: a wave over the year and one over the day, four times a day."""
    times = np.arange(int(HOURS_A_YEAR * _SAMPLES_A_DAY / 24), dtype=np.int64) * (24 * 3600 // _SAMPLES_A_DAY)
    days = times / 86400.0
    season = np.cos((days - _HOTTEST_DAY) / 365.0 * 2 * np.pi)
    within = np.cos(days * 2 * np.pi)

    def course(winter: float, summer: float, day: float, sign: int) -> Any:
        return (winter + summer) / 2 + (summer - winter) / 2 * season + sign * day / 2 * within

    warmth = np.minimum(course(guess.winter_c, guess.summer_c, guess.day_c, 1), guess.most_c)
    damp = np.clip(course(guess.winter_pct, guess.summer_pct, guess.day_pct, -1), 1.0, min(99.0, guess.most_pct))
    return _air("guessed", warmth, damp, times)


def _air(evidence: Evidence, warmth: Any, damp: Any, times: Any) -> Air:
    hold = np.full(len(times), float(times[1] - times[0]))
    slow, cellulose = (mean_life_multiplier(warmth, damp, each) for each in (ENERGY_SLOW_KJ, ENERGY_CELLULOSE_KJ))
    mean_c, mean_pct = float(warmth.mean()), float(damp.mean())
    found: dict[tuple[str, str], Suits] = {}
    fits = {}
    for code, row in care().items():
        key = (row.climate, row.housing)
        if key not in found:
            fit = kind_fit(code, warmth, damp, times, hold)
            if fit.share_in_hard is None:
                continue
            found[key] = suits_of(
                (fit.hours_too_damp, fit.hours_too_dry, fit.hours_too_warm, fit.hours_too_cold), HOURS_A_YEAR,
                fit.share_in_hard, fit.verdict, fit.home_ok,
            )  # fmt: skip
        fits[code] = found[key]
    return Air(evidence, lives(slow, cellulose, mean_c, mean_pct), fits, 0.0, mean_c, mean_pct)


def suits_of(
    hours: tuple[float | None, float | None, float | None, float | None], of_hours: float, in_hard: float | None,
    verdict: str | None, home_ok: bool,
) -> Suits:  # fmt: skip
    """Return how some air suits a kind from hours too damp, dry, warm and cold out of so many hours read.

    What is warmer than a cold place but as good as a home can be, is watched, not unsuitable.
    """
    shares = [min(1.0, (each or 0.0) / of_hours) if of_hours > 0 else 0.0 for each in hours]
    said: Verdict = "unmeasured"
    if verdict in ("suits", "watch", "unsuitable"):
        said = "watch" if verdict == "unsuitable" and home_ok else verdict  # type: ignore[assignment]
    outside = 0.0 if home_ok else 1.0 - (1.0 if in_hard is None else in_hard)
    return Suits(shares[0], shares[1], shares[2], shares[3], outside, said)


@lru_cache(maxsize=100)
def cold_air(temperature_c: float, relative_humidity_pct: float) -> Air:
    """Return the air in sealed bags in a cold place: steady, as humid as it was when the bags were closed."""
    times = np.arange(366, dtype=np.int64) * 86400
    return _air("measured", np.full(len(times), temperature_c), np.full(len(times), relative_humidity_pct), times)


# -- water, pests, light -----------------------------------------------------------------------------------------


def water_risk(floor: str, water: Iterable[str], location: str, seen: str = "") -> int:
    """Return how near water is, 0 to 3: the worst of the floor, what is in or over the room, and the place in it."""
    rows = table()["risk"]
    found = [rows["water"].get(code, 0) for code in water]
    guess = int(max([rows["water_floor"].get(floor, 0), rows["water_location"].get(location, 0), *found]))
    return risk_with(guess, seen)


def pest_risk(floor: str, location: str, seen: str = "") -> int:
    """Return how near pests are, 0 to 3: by what was seen there (`signs.Signs`), else by where it is in the house."""
    rows = table()["risk"]
    guess = int(max(rows["pests_floor"].get(floor, 0), rows["pests_location"].get(location, 0)))
    return risk_with(guess, seen)


def light_class(said: str, lux: float | None, location: str) -> int | None:
    """Return how bright a place is, 0 dark to 3 sun: by what was read in the room, else by what was said of it."""
    rows = table()["risk"]
    if location == "in-sun":
        return int(rows["light"]["sun"])
    if location == "inner-cupboard":
        return int(rows["light"]["dark"])
    if lux is not None:
        bounds = rows["lux"]
        return int(next((rows["light"][name] for name in bounds if lux <= bounds[name]), rows["light"]["sun"]))
    return int(rows["light"][said]) if said in rows["light"] else None


def has_limits(code: str) -> bool:
    """Say whether air can suit or harm a kind at all, as far as we know."""
    return limits(code).temperature_best_c is not None
