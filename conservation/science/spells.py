"""Readings day by day, spells of damp, and what a change of air would bring: what the pages of a room draw and say."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from conservation.science.ageing import ENERGY_CELLULOSE_KJ, mean_life_multiplier
from conservation.science.air import saturation_pressure_pa
from conservation.science.figures import FigureFile, figures

Array = NDArray[np.float64]
Times = NDArray[np.int64]

DAY_S = 86400
INSECTS: FigureFile = figures("insects")
METALS: FigureFile = figures("metals")


@dataclass(frozen=True, slots=True)
class Days:
    """One row a day: what is stored beside the readings so that pages need not read them all."""

    day: Times  # days since 1970-01-01, by the clock given
    count: Times
    temperature_min: Array  # [°C]
    temperature_mean: Array
    temperature_max: Array
    humidity_min: Array  # [%]
    humidity_mean: Array
    humidity_max: Array


def daily(local_s: Times, temperature_c: Array, relative_humidity_pct: Array) -> Days:
    """Sum readings up by day.

    Parameters
    ----------
    local_s : array [seconds of the home's clock, counted as if UTC], rising
    temperature_c, relative_humidity_pct : arrays [°C, %]

    Returns
    -------
    Days, one row for every day that has readings
    """
    day = local_s // DAY_S
    starts = np.flatnonzero(np.concatenate([[True], np.diff(day) != 0])) if len(day) else np.array([], dtype=np.int64)
    count = np.diff(np.append(starts, len(day)))

    def each(values: Array, how: np.ufunc) -> Array:
        return np.asarray(how.reduceat(values, starts) if len(starts) else values, dtype=np.float64)

    return Days(
        day[starts],
        count,
        each(temperature_c, np.minimum),
        each(temperature_c, np.add) / np.maximum(count, 1),
        each(temperature_c, np.maximum),
        each(relative_humidity_pct, np.minimum),
        each(relative_humidity_pct, np.add) / np.maximum(count, 1),
        each(relative_humidity_pct, np.maximum),
    )


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch of readings above a limit."""

    start_s: int
    end_s: int
    highest: float

    @property
    def hours(self) -> float:
        """How long it lasted [h]."""
        return (self.end_s - self.start_s) / 3600


def spells_above(times_s: Times, values: Array, limit: float, hold: Array, least_h: float = 24) -> list[Spell]:
    """Return the stretches in which every reading is above a limit; a gap in the readings ends a stretch.

    Parameters
    ----------
    times_s : array [epoch seconds], rising
    values : array
    limit : number, in the unit of the values
    hold : array [s], how long each reading stands for (`conservation.science.room_fit.hold_s`)
    least_h : number [h]; shorter stretches are left out

    Returns
    -------
    list of Spell in order of time
    """
    above = values > limit
    if not above.any():
        return []
    broken = np.diff(times_s) > hold[:-1]
    edges = np.flatnonzero(broken | (above[1:] != above[:-1])) + 1
    starts = np.concatenate([[0], edges])
    ends = np.append(edges, len(times_s)) - 1
    found = []
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        end = int(times_s[last] + hold[last])
        if above[first] and end - int(times_s[first]) >= least_h * 3600:
            found.append(Spell(int(times_s[first]), end, float(values[first : last + 1].max())))
    return found


@dataclass(frozen=True, slots=True)
class InsectSeason:
    """Whether the air lets insects live."""

    active_days: int  # days warm enough for moths and beetles to feed and breed
    days: int
    longest_damp_days: float  # longest stretch damp enough for silverfish and their like
    damp_loving: bool


def insect_season(days: Days) -> InsectSeason:
    """Return how many days insects could feed, and whether damp-loving ones could settle.

    Parameters
    ----------
    days : Days

    Returns
    -------
    InsectSeason

    References
    ----------
    Canadian Conservation Institute, CCI Notes 3/3 (15 °C); the rule for damp is our default.
    """
    warm = days.temperature_mean >= INSECTS.value("active_from")
    damp = days.humidity_mean > INSECTS.value("damp_loving_from")
    longest = run = 0
    before = None
    for day, is_damp in zip(days.day.tolist(), damp.tolist(), strict=True):
        run = (run + 1 if before is not None and day == before + 1 else 1) if is_damp else 0
        longest, before = max(longest, run), day
    return InsectSeason(int(warm.sum()), len(days.day), longest, longest > INSECTS.value("damp_loving_days"))


def hours_above(relative_humidity_pct: Array, hold: Array, metal: str) -> float:
    """Return for how many hours a metal was at risk.

    Parameters
    ----------
    relative_humidity_pct : array [%]
    hold : array [s], how long each reading stands for
    metal : a key of `METALS`

    Returns
    -------
    number [h]
    """
    return float(hold[relative_humidity_pct > METALS.value(metal)].sum()) / 3600


def gain(
    temperature_c: Array,
    relative_humidity_pct: Array,
    cooler_k: float = 0,
    drier_pct: float = 0,
    *,
    same_water: bool = False,
    weights: Array | None = None,
    energy_kj_mol: float = ENERGY_CELLULOSE_KJ,
) -> float:
    """Return how many times as long things would last in air changed all year round.

    Parameters
    ----------
    temperature_c, relative_humidity_pct : arrays [°C, %]
    cooler_k : number [K]
    drier_pct : number [%], taken off after the cooling
    same_water : the cooled air keeps its water, so that its relative humidity rises
    weights : array, optional; how long each reading stood for
    energy_kj_mol : number [kJ/mol]

    Returns
    -------
    number [–], above 1 when the change helps
    """
    cooled = temperature_c - cooler_k
    humidity = relative_humidity_pct
    if same_water:
        humidity = humidity * saturation_pressure_pa(temperature_c) / saturation_pressure_pa(cooled)
    humidity = np.clip(humidity - drier_pct, 0, 100)
    after = mean_life_multiplier(cooled, humidity, energy_kj_mol, weights)
    return after / mean_life_multiplier(temperature_c, relative_humidity_pct, energy_kj_mol, weights)


def two_digits(ratio: float) -> str:
    """Write a ratio as exactly as it is known: "1.7", "12", "140".

    Parameters
    ----------
    ratio : number [–], above 0

    Returns
    -------
    str

    Raises
    ------
    ValueError
        The ratio is not above 0.
    """
    if not ratio > 0:
        raise ValueError(f"ratio: {ratio} is not above 0")
    exponent = int(np.floor(np.log10(ratio)))
    rounded = round(ratio, 1 - exponent)
    return f"{rounded:.{max(0, 1 - exponent)}f}".rstrip("0").rstrip(".") if exponent < 1 else f"{rounded:.0f}"


def compared(here: float, there: float) -> str:
    """Say how fast things age here against there, by their life multipliers.

    Parameters
    ----------
    here, there : numbers [–], life multipliers above 0

    Returns
    -------
    str, such as "about 3 times as fast as" or "about as fast as"

    Raises
    ------
    ValueError
        A multiplier is not above 0.
    """
    if not (here > 0 and there > 0):
        raise ValueError(f"life multipliers: {here} and {there} must be above 0")
    speed = there / here
    if 0.9 < speed < 1.1:
        return "about as fast as"
    if speed > 1:
        return f"about {two_digits(speed)} times as fast as"
    return f"about {two_digits(1 / speed)} times more slowly than"
