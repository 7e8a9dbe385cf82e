"""One sensor's readings summed up: its last year, all of it, its days, and what a change of air would bring.

The results are plain numbers in dictionaries, to be kept beside the readings so that pages need not read them again.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from archive.kinds import KIND_CODES, kind
from conservation.science.ageing import (
    ENERGY_CELLULOSE_KJ,
    ENERGY_SLOW_KJ,
    LEAST_RH_PCT,
    life_multiplier,
    paper_life_ratio,
)
from conservation.science.climate import Analysis, analyse
from conservation.science.figures import figures
from conservation.science.housing.climate import Limits, limits
from conservation.science.mould import CLASSES, MouldCourse, hourly_air
from conservation.science.room_fit import KindFit, hold_s, kind_fit
from conservation.science.sources import DATA, Citation
from conservation.science.spells import METALS, Days, daily, gain, hours_above, insect_season, spells_above

Array = NDArray[np.float64]
Times = NDArray[np.int64]

DAY_S = 86400
YEAR_DAYS = 365
RECIPE = 2  # raised when the sums below change, so that what was kept is worked out anew
_GAP_INTERVALS = figures("readings").value("gap_intervals")
_MOST_SPELLS = 12
_CARD = 2  # the mould class of card, of which boxes and folders are made


@dataclass(frozen=True, slots=True)
class Change:
    """A change of air that a household can bring about, all year round."""

    code: str
    cooler_k: float
    drier_pct: float


CHANGES = (
    Change("cooler-2", 2, 0),
    Change("cooler-5", 5, 0),
    Change("drier-5", 0, 5),
    Change("drier-10", 0, 10),
    Change("drier-20", 0, 20),
    Change("cooler-2-drier-5", 2, 5),
    Change("damper-5", 0, -5),
    Change("damper-10", 0, -10),
    Change("warmer-3", -3, 0),
)


@cache
def mould_class_of(code: str) -> int:
    """Return the mould class, 1 (very sensitive) to 4, of a kind."""
    with (DATA / "mould_kinds.toml").open("rb") as file:
        table = tomllib.load(file)
    return int(table["kind"].get(code, table["family"][kind(code).family]))


def mould_class_citation() -> Citation:
    """Return where the mould classes of kinds come from."""
    with (DATA / "mould_kinds.toml").open("rb") as file:
        table = tomllib.load(file)
    return Citation(table["source"], table["locator"], table["status"])


@cache
def _groups() -> tuple[tuple[str, Limits], ...]:
    """Return one kind for every different set of limits."""
    found: dict[tuple[Any, ...], tuple[str, Limits]] = {}
    for code in sorted(KIND_CODES):  # in an order that is the same after a restart: the answer is kept by these codes
        found.setdefault(_bounds(limits(code)), (code, limits(code)))
    return tuple(found.values())


def _bounds(each: Limits) -> tuple[Any, ...]:
    return (
        each.temperature_min_c,
        each.temperature_best_c,
        each.temperature_max_c,
        each.rh_min_pct,
        each.rh_best_pct,
        each.rh_max_pct,
    )


@cache
def group_of() -> Mapping[str, str]:
    """Return for every kind the kind that stands for it: one with the same limits of air."""
    by_bounds = {_bounds(each): code for code, each in _groups()}
    return {code: by_bounds[_bounds(limits(code))] for code in KIND_CODES}


def summed_up(
    times_s: Times, local_s: Times, temperature_c: Array, relative_humidity_pct: Array
) -> tuple[dict[str, Any], DayRows]:
    """Sum up the readings of one sensor.

    Parameters
    ----------
    times_s : array [epoch seconds], rising, not empty
    local_s : array [seconds of the home's clock, counted as if UTC]
    temperature_c, relative_humidity_pct : arrays [°C, %]

    Returns
    -------
    dict of plain numbers: ``year`` (the last 365 days that have readings), ``all``; and its days
    """
    start = int(np.searchsorted(times_s, times_s[-1] - YEAR_DAYS * DAY_S, side="right"))
    year = times_s[start:], temperature_c[start:], relative_humidity_pct[start:]
    found = analyse(times_s, temperature_c, relative_humidity_pct)
    whole = _sums(found, times_s)
    of_year = whole if start == 0 else _sums(analyse(*year), year[0])
    rows = days_of(times_s, local_s, temperature_c, relative_humidity_pct, found.mould)
    return {"all": whole, "year": {**of_year, **_for_the_contents(*year)}}, rows


def _sums(found: Analysis, times_s: Times) -> dict[str, Any]:
    return {
        "first_s": int(times_s[0]),
        "last_s": int(times_s[-1]),
        "readings": found.count,
        "days": round(found.days, 3),
        "interval_s": found.interval_s,
        "gaps": found.gaps[-20:],
        "gap_count": len(found.gaps),
        "gap_days": round(sum(end - start for start, end in found.gaps) / DAY_S, 2),
        "temperature": _rounded(found.temperature.as_answer() if found.temperature else {}),
        "humidity": _rounded(found.humidity.as_answer() if found.humidity else {}),
        "dew_point": found.dew_point_mean_c,
        "life": {"ea70": found.life_ea70, "ea100": found.life_ea100},
        "mould": None
        if found.mould is None
        else {
            str(number): {
                "peak": round(each.peak, 3),
                "now": round(each.now, 3),
                "days_to_1": each.days_to_1,
                "days_to_3": each.days_to_3,
            }
            for number, each in found.mould.items()
        },
        "band": None if found.band is None else asdict(found.band),
        "classes": found.control_classes,
        "notes": found.notes,
    }


def _rounded(values: Mapping[str, float]) -> dict[str, float]:
    return {key: round(value, 2) for key, value in values.items()}


def _for_the_contents(times_s: Times, temperature_c: Array, relative_humidity_pct: Array) -> dict[str, Any]:
    hold, usual = hold_s(times_s, _GAP_INTERVALS)
    fits = {
        code: _fit(kind_fit(code, temperature_c, relative_humidity_pct, times_s, hold, bounds))
        for code, bounds in _groups()
    }
    weights = hold if usual else None
    coarse = _coarse(times_s, temperature_c, relative_humidity_pct, _GAP_INTERVALS * usual)
    paper = np.minimum(relative_humidity_pct, 99.0)
    metals = {name: round(hours_above(relative_humidity_pct, hold, name), 1) for name in METALS}
    spells = spells_above(times_s, relative_humidity_pct, METALS.value("damp"), hold)
    return {
        "hours": round(float(hold.sum()) / 3600, 2),
        "fits": fits,
        "paper_life": float(1 / np.average(1 / paper_life_ratio(temperature_c, paper), weights=weights)),
        "metals": metals,
        "spells": [[each.start_s, each.end_s, round(each.highest, 1)] for each in spells[-_MOST_SPELLS:]],
        "spell_count": len(spells),
        "changes": {
            each.code: {
                "life": gain(temperature_c, relative_humidity_pct, each.cooler_k, each.drier_pct, weights=weights),
                "fits": _after(each, *coarse),
            }
            for each in CHANGES
        },
    }


def _fit(found: KindFit) -> list[Any]:
    """Return shares in best and hard, hours too damp, dry, warm and cold, the verdict, and whether a home is enough."""
    hours = [found.hours_too_damp, found.hours_too_dry, found.hours_too_warm, found.hours_too_cold]
    shares = [found.share_in_best, found.share_in_hard]
    return [
        *(None if each is None else round(each, 4) for each in shares),
        *(None if each is None else round(each, 2) for each in hours),
        found.verdict,
        found.home_ok,
    ]


def _coarse(
    times_s: Times, temperature_c: Array, relative_humidity_pct: Array, longest: float
) -> tuple[Times, Array, Array]:
    """Return at most a reading an hour: for asking what a change would bring, finer is no better."""
    if len(times_s) < 2 or np.median(np.diff(times_s)) >= 3600:
        return times_s, temperature_c, relative_humidity_pct
    air = hourly_air(times_s, temperature_c, relative_humidity_pct, longest)
    if air is None:
        return times_s, temperature_c, relative_humidity_pct
    at = air.start_s + 3600 * np.arange(len(air.known), dtype=np.int64)
    return at[air.known], air.temperature_c[air.known], air.relative_humidity_pct[air.known]


def _after(change: Change, times_s: Times, temperature_c: Array, relative_humidity_pct: Array) -> dict[str, list[Any]]:
    hold, _ = hold_s(times_s, _GAP_INTERVALS)
    warmth = temperature_c - change.cooler_k
    damp = np.clip(relative_humidity_pct - change.drier_pct, 0, 100)
    found = {}
    for code, bounds in _groups():
        fit = kind_fit(code, warmth, damp, times_s, hold, bounds)
        if fit.share_in_best is not None and fit.share_in_hard is not None:
            found[code] = [round(fit.share_in_best, 3), round(fit.share_in_hard, 3), fit.verdict]
    return found


@dataclass(frozen=True, slots=True)
class DayRows:
    """The days of a sensor as they are kept: ten numbers each, and the largest mould index of four classes."""

    days: Days
    damp_minutes: Times
    rate: Array  # how fast paper aged, 1 at 20 °C and 50 %
    mould: dict[int, Array] | None  # by class, the largest index of the day; NaN where it cannot be known


def days_of(
    times_s: Times,
    local_s: Times,
    temperature_c: Array,
    relative_humidity_pct: Array,
    courses: dict[int, MouldCourse] | None,
) -> DayRows:
    """Sum readings up by the days of the home's clock.

    Parameters
    ----------
    times_s : array [epoch seconds], rising
    local_s : array [seconds of the home's clock, counted as if UTC]
    temperature_c, relative_humidity_pct : arrays [°C, %]
    courses : the mould index hour by hour from the first reading on, by class; None where it cannot be known

    Returns
    -------
    DayRows
    """
    # When clocks go back a time of the day comes twice; its order within the day does not matter here.
    days = daily(np.maximum.accumulate(local_s) if len(local_s) else local_s, temperature_c, relative_humidity_pct)
    where = np.searchsorted(days.day, local_s // DAY_S)
    where = np.clip(where, 0, max(len(days.day) - 1, 0))
    hold, _ = hold_s(times_s, _GAP_INTERVALS)
    damp = np.bincount(where, np.where(relative_humidity_pct > METALS.value("damp"), hold, 0.0), len(days.day))
    rates = 1 / life_multiplier(temperature_c, np.maximum(relative_humidity_pct, LEAST_RH_PCT), ENERGY_CELLULOSE_KJ)
    rate = np.bincount(where, rates, len(days.day)) / np.maximum(days.count, 1)
    mould = None if courses is None else _mould_by_day(times_s, local_s, days.day, courses)
    return DayRows(days, np.round(damp / 60).astype(np.int64), rate, mould)


def _mould_by_day(times_s: Times, local_s: Times, day: Times, courses: dict[int, MouldCourse]) -> dict[int, Array]:
    hours = times_s[0] + 3600 * np.arange(len(courses[CLASSES[0]].index), dtype=np.int64)
    # The offset of the nearest reading before: exact but for the hour in which clocks are changed.
    before = np.clip(np.searchsorted(times_s, hours, side="right") - 1, 0, len(times_s) - 1)
    day_of_hour = (hours + (local_s - times_s)[before]) // DAY_S
    place = np.minimum(np.searchsorted(day, day_of_hour), len(day) - 1)
    inside = day[place] == day_of_hour
    found = {}
    for number, course in courses.items():
        largest = np.full(len(day), np.nan)
        np.fmax.at(largest, place[inside], course.index[inside])
        found[number] = largest
    return found


def season(day: Times, temperature_mean: Array, humidity_mean: Array) -> dict[str, Any]:
    """Return for how many days insects could live in this air.

    Parameters
    ----------
    day : array [days since 1970-01-01]
    temperature_mean, humidity_mean : arrays of daily means [°C, %]

    Returns
    -------
    dict with ``active_days``, ``days``, ``longest_damp_days``, ``damp_loving``
    """
    none = np.zeros(len(day))
    means = (none, temperature_mean, none, none, humidity_mean, none)
    return asdict(insect_season(Days(day, np.ones(len(day), dtype=np.int64), *means)))


def slow_energy_kj() -> tuple[float, float]:
    """Return the two activation energies that stand for slower materials and for paper [kJ/mol]."""
    return ENERGY_SLOW_KJ, ENERGY_CELLULOSE_KJ


def mould_class_for(kinds: Sequence[str]) -> int:
    """Return the one mould class that counts for some kinds: that of the most sensitive among them.

    Whatever lies in a room, the card of boxes and folders is there too and counts as class 2; class 1 where nothing
    is known of the contents.
    """
    return min(_CARD, *(mould_class_of(code) for code in kinds)) if kinds else 1
