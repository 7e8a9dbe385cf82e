"""How well a room's air suits a kind of thing: the share of time inside its limits, and a verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from conservation.science.housing.climate import HOME_RH_PCT, HOME_TEMPERATURE_C, Limits, limits
from conservation.science.sources import Citation

Array = NDArray[np.float64]
Times = NDArray[np.int64]
Mask = NDArray[np.bool_]
Verdict = Literal["suits", "watch", "unsuitable"]

SHARE_FOR_SUITS = 0.95
MOST_SHARE_OUTSIDE = 0.05
MOST_HOURS_TOGETHER = 24
RULE = Citation("kistbook", "verdict on a room by the share of time", "our default")


@dataclass(frozen=True, slots=True)
class KindFit:
    """What a room's air was like for one kind; None where the kind has no limits or nothing was read."""

    kind: str
    share_in_best: float | None
    share_in_hard: float | None
    hours_too_damp: float | None
    hours_too_dry: float | None
    hours_too_warm: float | None
    hours_too_cold: float | None
    verdict: Verdict | None
    home_ok: bool = False  # warmer than its limit, but as cool and dry as a home can be
    citations: tuple[Citation, ...] = ()


def hold_s(times_s: Times, gap_intervals: float) -> tuple[Array, float]:
    """Return how long each reading stands for, and the usual interval.

    Parameters
    ----------
    times_s : array [epoch seconds], rising
    gap_intervals : number; a step longer than so many usual intervals is a gap

    Returns
    -------
    array [s], number [s]

    Notes
    -----
    A reading stands until the next one; before a gap, and at the end, for one usual interval. A single reading stands
    for no time at all.
    """
    steps = np.diff(times_s).astype(np.float64)
    real = steps[steps > 0]
    if not len(real):
        return np.zeros(len(times_s)), 0.0
    usual = float(np.median(real))
    return np.append(np.where(steps > gap_intervals * usual, usual, steps), usual), usual


def _outside(values: Array, low: float | None, high: float | None) -> tuple[Mask, Mask]:
    never = np.zeros(len(values), dtype=bool)
    return (never if low is None else values < low), (never if high is None else values > high)


def longest_together_h(outside: Mask, times_s: Times, hold: Array) -> float:
    """Return the longest stretch outside in hours; a gap in the readings ends a stretch.

    Parameters
    ----------
    outside : array of bool
    times_s : array [epoch seconds], rising
    hold : array [s], see `hold_s`

    Returns
    -------
    number [h]
    """
    if not outside.any():
        return 0.0
    broken = np.append(np.diff(times_s) > hold[:-1], True)
    starts_new = np.concatenate([[True], broken[:-1] | (outside[1:] != outside[:-1])])
    stretch = np.cumsum(starts_new) - 1
    return float(np.bincount(stretch, np.where(outside, hold, 0)).max()) / 3600


def kind_fit(
    kind: str,
    temperature_c: Array,
    relative_humidity_pct: Array,
    times_s: Times,
    hold: Array,
    bounds: Limits | None = None,
) -> KindFit:
    """Judge a room's air for one kind.

    Parameters
    ----------
    kind : a code of the list of kinds
    temperature_c, relative_humidity_pct : arrays [°C, %]
    times_s : array [epoch seconds], rising
    hold : array [s], how long each reading stands for
    bounds : limits to judge by, the kind's own when left out

    Returns
    -------
    KindFit

    Notes
    -----
    Unsuitable when more than 5 % of the time, or 24 hours together, lies outside the hard limits; suits from 95 % of
    the time in the best range on; else watch.
    """
    bounds = bounds or limits(kind)
    best_t, best_rh = bounds.temperature_best_c, bounds.rh_best_pct
    if not len(times_s) or best_t is None or best_rh is None:
        return KindFit(kind, None, None, None, None, None, None, None)
    weights = hold if hold.sum() > 0 else np.ones(len(hold))
    cold, warm = _outside(temperature_c, *best_t)
    dry, damp = _outside(relative_humidity_pct, *best_rh)
    outside_best = cold | warm | dry | damp
    hard = [
        *_outside(temperature_c, bounds.temperature_min_c, bounds.temperature_max_c),
        *_outside(relative_humidity_pct, bounds.rh_min_pct, bounds.rh_max_pct),
    ]
    outside_hard = hard[0] | hard[1] | hard[2] | hard[3]
    total = float(weights.sum())
    share_in_best = float(weights[~outside_best].sum()) / total
    share_out = float(weights[outside_hard].sum()) / total
    too_long = longest_together_h(outside_hard, times_s, hold) >= MOST_HOURS_TOGETHER
    verdict: Verdict = "watch"
    if share_out > MOST_SHARE_OUTSIDE or too_long:
        verdict = "unsuitable"
    elif share_in_best >= SHARE_FOR_SUITS:
        verdict = "suits"
    at_home = bounds.lives_cold and _as_good_as_home(temperature_c, relative_humidity_pct, bounds, weights)
    return KindFit(
        kind=kind,
        share_in_best=share_in_best,
        share_in_hard=float(weights[~outside_hard].sum()) / total,
        hours_too_damp=_hours(hold, damp),
        hours_too_dry=_hours(hold, dry),
        hours_too_warm=_hours(hold, warm),
        hours_too_cold=_hours(hold, cold),
        verdict=verdict,
        home_ok=at_home and verdict == "unsuitable",
        citations=(*bounds.citations, RULE),
    )


def _hours(hold: Array, which: Mask) -> float:
    return float(hold[which].sum()) / 3600


def _as_good_as_home(temperature_c: Array, relative_humidity_pct: Array, bounds: Limits, weights: Array) -> bool:
    """Return whether 95 % of the time is as cool and dry as a home can be for things that belong in the cold."""
    inside = (temperature_c <= HOME_TEMPERATURE_C) & (relative_humidity_pct <= HOME_RH_PCT)
    if bounds.rh_min_pct is not None:
        inside &= relative_humidity_pct >= bounds.rh_min_pct
    return bool(weights[inside].sum() >= SHARE_FOR_SUITS * weights.sum())
