"""The mould index of a surface in some air: Hukka and Viitanen's model with the four sensitivity classes.

The model is run in steps of one hour. Room air is not the air at a cold wall: where a surface's temperature is known,
hand over the humidity at that surface (`conservation.science.air.surface_rh_pct`).
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from conservation.science.figures import figures
from conservation.science.sources import DATA, Citation

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

_F = figures("mould")
CLASSES = (1, 2, 3, 4)
LONGEST_HOURS_BETWEEN_READINGS = 6
_HOURS_A_DAY = 24
_DAYS_A_WEEK = 7


@dataclass(frozen=True, slots=True)
class SensitivityClass:
    """How readily mould grows on one class of materials, and how it withers there."""

    number: int
    k1_low: float  # speed below index 1, pine = 1
    k1_high: float  # speed from index 1 on
    a: float
    b: float
    c: float  # largest index = a + b·x − c·x²
    least_rh_pct: float
    decline: float  # share of pine's decline
    examples: str


@cache
def sensitivity_classes() -> dict[int, SensitivityClass]:
    """Return the four sensitivity classes from ``data/mould_classes_2010.csv``."""
    lines = (DATA / "mould_classes_2010.csv").read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    classes = {}
    for row in rows:
        numbers = {key: float(row[key]) for key in ("k1_low", "k1_high", "a", "b", "c", "least_rh_pct", "decline")}
        classes[int(row["class"])] = SensitivityClass(int(row["class"]), **numbers, examples=row["examples"])
    return classes


def mould_citations() -> list[Citation]:
    """Return the citations behind the mould index."""
    return [
        *_F.cite(),
        Citation("ojanen-2010", "sensitivity classes", "second-hand"),
        Citation("ashrae-160", "sensitivity classes, index 3 as the limit", "from memory"),
        Citation("kistbook", "decline classes paired with sensitivity classes in their order", "our default"),
    ]


def critical_rh_pct(temperature_c: Array | float, least_rh_pct: float = 80) -> Array:
    """Return the humidity from which mould can grow.

    Parameters
    ----------
    temperature_c : number or array [°C]
    least_rh_pct : number [%], 80 for classes 1 and 2, 85 for 3 and 4

    Returns
    -------
    array [%]

    Notes
    -----
    A cubic up to 20 °C; it dips below 80 % near 17 °C, so the least humidity is kept everywhere.

    References
    ----------
    A. Hukka and H. A. Viitanen, Wood Sci. Technol. 33 (1999) 475–485.
    """
    warmth = np.minimum(temperature_c, _F.value("critical_warm_from"))
    cubic = np.polyval([_F.value(f"critical_{power}") for power in (3, 2, 1, 0)], warmth)
    floor = np.where(np.asarray(temperature_c) > _F.value("critical_warm_from"), least_rh_pct, cubic)
    return np.maximum(floor, least_rh_pct)


def days_to_first_growth(temperature_c: Array | float, relative_humidity_pct: Array | float) -> Array:
    """Return days from clean pine to index 1 in constant air that lets mould grow.

    Parameters
    ----------
    temperature_c : number or array [°C, 0…50]
    relative_humidity_pct : number or array [%]

    Returns
    -------
    array [days]

    References
    ----------
    A. Hukka and H. A. Viitanen, Wood Sci. Technol. 33 (1999) 475–485; pine, sawn after drying.
    """
    weeks = np.exp(
        _F.value("first_temperature") * np.log(temperature_c)
        + _F.value("first_humidity") * np.log(relative_humidity_pct)
        + _F.value("first_constant")
    )
    return np.asarray(weeks * _DAYS_A_WEEK)


def can_grow(temperature_c: Array, relative_humidity_pct: Array, least_rh_pct: float = 80) -> Mask:
    """Return where mould can grow at all.

    Parameters
    ----------
    temperature_c, relative_humidity_pct : arrays [°C, %]
    least_rh_pct : number [%], 80 for classes 1 and 2, 85 for 3 and 4

    Returns
    -------
    array of bool
    """
    warm = (temperature_c > _F.value("growth_coldest")) & (temperature_c < _F.value("growth_warmest"))
    return np.asarray(warm & (relative_humidity_pct >= critical_rh_pct(temperature_c, least_rh_pct)))


def mould_index(
    temperature_c: Array, relative_humidity_pct: Array, sensitivity: int, known: Mask | None = None, start: float = 0.0
) -> Array:
    """Return the mould index at the end of every hour.

    Parameters
    ----------
    temperature_c, relative_humidity_pct : arrays [°C, %], one value an hour
    sensitivity : 1 (very sensitive) … 4 (resistant)
    known : array of bool, optional; in the other hours the index is held, and the dry spell's clock with it
    start : number [–], the index before the first hour

    Returns
    -------
    array [–, 0…6]

    Raises
    ------
    KeyError
        There is no such class.

    Notes
    -----
    Growth per day k1·k2/t_m, t_m the days to first growth on pine, k2 = 1 − exp[2.3·(M − M_max)]; decline by the hours
    since the dry spell began. At and below 0 °C nothing grows and the decline goes on.

    References
    ----------
    T. Ojanen et al., Buildings XI (2010); ASHRAE Standard 160.
    """
    kind = sensitivity_classes()[sensitivity]
    growing, speeds_low, speeds_high, largest = _hourly_growth(temperature_c, relative_humidity_pct, kind)
    early = kind.decline * _F.value("decline_early") / _HOURS_A_DAY
    late = kind.decline * _F.value("decline_late") / _HOURS_A_DAY
    early_until, late_from = _F.value("decline_early_until"), _F.value("decline_late_from")
    slowing, exp = _F.value("slowing"), math.exp
    index, dry_hours = start, 0
    course: list[float] = []
    is_known = np.ones(len(growing), dtype=bool) if known is None else known
    for sure, grows, low, high, top in zip(
        is_known.tolist(), growing.tolist(), speeds_low.tolist(), speeds_high.tolist(), largest.tolist(), strict=True
    ):
        if not sure:
            pass  # nothing is known about this hour: neither growth nor decline is made up
        elif grows:
            dry_hours = 0
            if index < top:
                index += (low if index < 1 else high) * (1 - exp(slowing * (index - top)))
        else:
            dry_hours += 1
            if dry_hours <= early_until:
                index = max(0.0, index + early)
            elif dry_hours > late_from:
                index = max(0.0, index + late)
        course.append(index)
    return np.array(course, dtype=np.float64)


def _hourly_growth(
    temperature_c: Array, relative_humidity_pct: Array, kind: SensitivityClass
) -> tuple[Mask, Array, Array, Array]:
    """Return where mould grows, how fast an hour below and from index 1, and the largest index it can reach."""
    growing = can_grow(temperature_c, relative_humidity_pct, kind.least_rh_pct)
    warmth, damp = temperature_c[growing], relative_humidity_pct[growing]
    speed, largest = np.zeros(len(growing)), np.zeros(len(growing))
    speed[growing] = 1 / (days_to_first_growth(warmth, damp) * _HOURS_A_DAY)
    critical = critical_rh_pct(warmth, kind.least_rh_pct)
    # Where the critical humidity is 100 % mould can only just live: the share is 0 over 0 there and counts as 0.
    span = np.where(critical < 100, 100 - critical, 1)
    share = np.where(critical < 100, (damp - critical) / span, 0)
    largest[growing] = kind.a + kind.b * share - kind.c * share**2
    return growing, speed * kind.k1_low, speed * kind.k1_high, largest


@dataclass(frozen=True, slots=True)
class HourlyAir:
    """Readings brought to steps of one hour from the first reading on."""

    start_s: int  # epoch second of the first step's begin
    temperature_c: Array
    relative_humidity_pct: Array
    known: Mask


def hourly_air(
    times_s: NDArray[np.int64], temperature_c: Array, relative_humidity_pct: Array, longest_gap_s: float
) -> HourlyAir | None:
    """Bring readings to hourly steps: the mean of an hour's readings, a straight line between readings farther apart.

    Parameters
    ----------
    times_s : array [epoch seconds], rising
    temperature_c, relative_humidity_pct : arrays [°C, %]
    longest_gap_s : number [s]; hours between readings farther apart than this, or than six hours, are unknown

    Returns
    -------
    HourlyAir, or None when no two readings are six hours apart or less
    """
    if len(times_s) < 2:
        return None
    apart = np.diff(times_s)
    longest = min(longest_gap_s, LONGEST_HOURS_BETWEEN_READINGS * 3600)
    if not (apart <= LONGEST_HOURS_BETWEEN_READINGS * 3600).any():
        return None
    # Half a step of grace, so that a clock some seconds off does not push a reading into the hour before.
    grace = min(float(np.median(apart)), 3600.0) / 2
    hour = ((times_s - times_s[0] + grace) // 3600).astype(np.int64)
    steps = int(hour[-1]) + 1
    counts = np.bincount(hour, minlength=steps)
    filled = counts > 0
    here = np.flatnonzero(filled)
    middles = np.arange(steps)
    warmth = np.interp(middles, here, np.bincount(hour, temperature_c, steps)[filled] / counts[filled])
    damp = np.interp(middles, here, np.bincount(hour, relative_humidity_pct, steps)[filled] / counts[filled])
    marks = np.zeros(steps + 1, dtype=np.int64)
    wide = apart > longest
    # An empty hour is unknown exactly where it lies within a gap.
    np.add.at(marks, hour[:-1][wide] + 1, 1)
    np.add.at(marks, np.maximum(hour[1:][wide], hour[:-1][wide] + 1), -1)
    known = filled | (np.cumsum(marks[:-1]) == 0)
    return HourlyAir(int(times_s[0]), warmth, damp, known)


@dataclass(frozen=True, slots=True)
class MouldCourse:
    """What one sensitivity class went through."""

    peak: float
    now: float
    days_to_1: float | None
    days_to_3: float | None
    index: Array  # at the end of every hour


def mould_course(air: HourlyAir, sensitivity: int, start: float = 0.0) -> MouldCourse:
    """Run the model over hourly air and say how far it came.

    Parameters
    ----------
    air : HourlyAir
    sensitivity : 1 … 4
    start : number [–], the index before the first hour

    Returns
    -------
    MouldCourse; days are from the start to the end of the first step at which the index is reached, None if never
    """
    index = mould_index(air.temperature_c, air.relative_humidity_pct, sensitivity, air.known, start)
    return MouldCourse(float(index.max()), float(index[-1]), _days_to(index, 1), _days_to(index, 3), index)


def _days_to(index: Array, level: float) -> float | None:
    reached = index >= level
    return (int(np.argmax(reached)) + 1) / _HOURS_A_DAY if reached.any() else None
