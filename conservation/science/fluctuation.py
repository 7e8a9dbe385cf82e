"""Swings of humidity and temperature: the moving mean, the band a room's things are used to, the control classes."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from conservation.science.figures import figures
from conservation.science.mould import HourlyAir
from conservation.science.sources import DATA, Citation

Array = NDArray[np.float64]
Times = NDArray[np.int64]
Mask = NDArray[np.bool_]

_F = figures("fluctuation")
_DAY_S = 86400
WINDOW_HALF_S = int(_F.value("window_half") * _DAY_S)
LEAST_DAYS_BAND = _F.value("least_days_band")
LEAST_DAYS_CLASSES = _F.value("least_days_classes")


def fluctuation_citations() -> list[Citation]:
    """Return the citations behind the moving mean and the band."""
    return _F.cite("window_half", "lower_percentile", "band_never_tighter", "least_days_band", "least_window_share")


def control_class_citations() -> list[Citation]:
    """Return the citations behind the control classes."""
    table = Citation("ashrae-applications", "table of temperature and relative humidity specifications", "from memory")
    return [table, *_F.cite("set_point_coldest", "least_days_classes", "window_half")]


def is_steady(times_s: Times) -> bool:
    """Return whether readings come at one interval: nine in ten steps within a tenth of the median.

    Parameters
    ----------
    times_s : array [epoch seconds], rising, at least two

    Returns
    -------
    bool
    """
    steps = np.diff(times_s)
    usual = float(np.median(steps))
    return bool(np.mean(np.abs(steps - usual) <= usual / 10) >= 0.9)


def evenly(
    times_s: Times, temperature_c: Array, relative_humidity_pct: Array, air: HourlyAir | None
) -> tuple[Times, Array, Array]:
    """Return readings at one interval: as they are when they are steady, else brought to whole hours.

    Parameters
    ----------
    times_s, temperature_c, relative_humidity_pct : arrays [epoch seconds, °C, %]
    air : HourlyAir or None, the same readings by the hour

    Returns
    -------
    three arrays
    """
    if air is None or is_steady(times_s):
        return times_s, temperature_c, relative_humidity_pct
    hours = air.start_s + 3600 * np.flatnonzero(air.known)
    return hours.astype(np.int64), air.temperature_c[air.known], air.relative_humidity_pct[air.known]


def moving_mean(times_s: Times, values: Array) -> Array:
    """Return the mean over the 30 days around every reading, the fifteenth day before and after included.

    Parameters
    ----------
    times_s : array [epoch seconds], rising
    values : array

    Returns
    -------
    array, NaN in the first and last 15 days and where under four fifths of a window was read
    """
    if len(times_s) < 2:
        return np.full(len(times_s), np.nan)
    first = np.searchsorted(times_s, times_s - WINDOW_HALF_S, side="left")
    last = np.searchsorted(times_s, times_s + WINDOW_HALF_S, side="right")
    # Sums of deviations keep their digits over ten years of readings.
    level = float(values.mean())
    sums = np.concatenate([[0.0], np.cumsum(values - level)])
    counts = last - first
    step = max(float(np.median(np.diff(times_s))), 1.0)
    expected = 2 * WINDOW_HALF_S // step + 1
    whole = (times_s - WINDOW_HALF_S >= times_s[0]) & (times_s + WINDOW_HALF_S <= times_s[-1])
    read_enough = counts >= _F.value("least_window_share") / 100 * expected
    return np.where(whole & read_enough, level + (sums[last] - sums[first]) / counts, np.nan)


@dataclass(frozen=True, slots=True)
class Band:
    """The band of humidity a room's things are used to."""

    p07: float  # [%] deviation from the moving mean
    p93: float
    mean_pct: float
    lower_pct: float  # the annual mean plus the deviations, never tighter than ±10
    upper_pct: float
    readings: int  # with a moving mean


def humidity_band(relative_humidity_pct: Array, means: Array) -> Band | None:
    """Return the band that the last year's swings give.

    Parameters
    ----------
    relative_humidity_pct : array [%]
    means : array [%], its `moving_mean`

    Returns
    -------
    Band, or None when no reading has a moving mean

    Notes
    -----
    Percentiles 7 and 93 of the deviations by numpy's linear rule. Only for things that have been in this air a year.

    References
    ----------
    EN 15757:2010; percentiles and the 10 % rule from memory.
    """
    defined = np.isfinite(means)
    if not defined.any():
        return None
    swings = relative_humidity_pct[defined] - means[defined]
    p07, p93 = (float(p) for p in np.percentile(swings, [_F.value("lower_percentile"), _F.value("upper_percentile")]))
    least = _F.value("band_never_tighter")
    mean = float(relative_humidity_pct[defined].mean())
    return Band(p07, p93, mean, mean + min(p07, -least), mean + max(p93, least), int(defined.sum()))


@dataclass(frozen=True, slots=True)
class ControlClass:
    """What one control class allows; None is no limit."""

    name: str
    rh_short: float | None
    rh_season: float | None
    t_short_k: float | None
    t_up_k: float | None
    t_down_k: float | None
    t_max_c: float | None
    rh_min: float | None
    rh_max: float | None

    @property
    def needs_means(self) -> bool:
        """Whether the class speaks of swings around the 30-day mean."""
        return self.rh_short is not None


@cache
def control_class_table() -> tuple[ControlClass, ...]:
    """Return the control classes from ``data/control_classes_2015.csv``, the strictest first."""
    lines = (DATA / "control_classes_2015.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return tuple(
        ControlClass(row["class"], *(float(cell) if cell else None for key, cell in row.items() if key != "class"))
        for row in rows
    )


def inside_class(
    kind: ControlClass, temperature_c: Array, relative_humidity_pct: Array, t_means: Array, rh_means: Array
) -> Mask:
    """Return which readings lie inside a control class.

    Parameters
    ----------
    kind : ControlClass
    temperature_c, relative_humidity_pct : arrays [°C, %]
    t_means, rh_means : arrays [°C, %], their moving means, without NaN where the class needs them

    Returns
    -------
    array of bool

    Notes
    -----
    The set points are the mean humidity and the mean temperature, the latter kept between 15 and 25 °C. A class that
    allows no seasonal change has its short swings counted from the mean humidity itself.

    References
    ----------
    ASHRAE Handbook, HVAC Applications (editions 1999–2015), from memory.
    """
    inside = np.ones(len(temperature_c), dtype=bool)
    if kind.t_max_c is not None:
        inside &= temperature_c <= kind.t_max_c
    if kind.rh_min is not None:
        inside &= relative_humidity_pct >= kind.rh_min
    if kind.rh_max is not None:
        inside &= relative_humidity_pct <= kind.rh_max
    if kind.rh_short is None or kind.t_short_k is None:
        return inside
    rh_set = float(relative_humidity_pct.mean())
    t_set = float(np.clip(temperature_c.mean(), _F.value("set_point_coldest"), _F.value("set_point_warmest")))
    rh_around = rh_means if kind.rh_season else np.full(len(rh_means), rh_set)
    inside &= np.abs(relative_humidity_pct - rh_around) <= kind.rh_short
    inside &= np.abs(temperature_c - t_means) <= kind.t_short_k
    if kind.rh_season:
        inside &= np.abs(rh_means - rh_set) <= kind.rh_season
    if kind.t_up_k is not None:
        inside &= t_means - t_set <= kind.t_up_k
    if kind.t_down_k is not None:
        inside &= t_set - t_means <= kind.t_down_k
    return inside


def control_class_shares(
    temperature_c: Array, relative_humidity_pct: Array, t_means: Array, rh_means: Array
) -> dict[str, float | None]:
    """Return the share of readings inside each control class.

    Parameters
    ----------
    temperature_c, relative_humidity_pct : arrays [°C, %] at one interval
    t_means, rh_means : arrays [°C, %], their moving means

    Returns
    -------
    dict of class → share [0…1]; None for AA to B when no reading has a moving mean

    Notes
    -----
    AA to B look at the readings that have a moving mean, C and D at all.
    """
    defined = np.isfinite(rh_means) & np.isfinite(t_means)
    shares: dict[str, float | None] = {}
    for kind in control_class_table():
        which = defined if kind.needs_means else np.ones(len(defined), dtype=bool)
        if which.any():
            columns = (temperature_c, relative_humidity_pct, t_means, rh_means)
            shares[kind.name] = float(inside_class(kind, *(column[which] for column in columns)).mean())
        else:
            shares[kind.name] = None
    return shares
