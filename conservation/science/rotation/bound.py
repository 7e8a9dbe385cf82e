"""A proven upper bound on the score of any plan, from prices of room, light and occasions, by plain arithmetic.

Whatever prices a solver gives (clipped at zero), the bound holds: each thing by itself gets its best year at these
prices, found exactly by walking the weeks backwards, and what the prices charge is paid out once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from conservation.science.rotation.case import Case, Floats


@dataclass(frozen=True)
class Prices:
    """Prices, none below zero: of a week at a spot, of a lux hour of a thing, of an occasion, of being shown."""

    room: Floats  # spots × weeks
    dose: Floats  # things
    occasion: Floats  # occasions
    shown: Floats  # things


@dataclass(frozen=True)
class Bound:
    """An upper bound (without what settled showings score), and by how much each column stays below it."""

    value: float
    slack: Floats


def no_prices(case: Case) -> Prices:
    """Return prices of zero."""
    return Prices(
        np.zeros(case.room.shape), np.zeros(len(case.budget)), np.zeros(len(case.occasions)), np.zeros(len(case.budget))
    )


def priced(case: Case, prices: Prices) -> Floats:
    """Return what each column is worth at some prices: its points, less what it uses, plus what it helps to earn."""
    c = case.columns
    ends = c.start + c.weeks
    rent = np.concatenate([np.zeros((len(case.room), 1)), np.cumsum(prices.room, axis=1)], axis=1)
    helps = np.zeros((len(case.budget), case.weeks + 1))
    for (week, things, _), price in zip(case.occasions, prices.occasion, strict=True):
        helps[list(things), week + 1] += price
    helps = np.cumsum(helps, axis=1)
    worth = c.points - (rent[c.spot, ends] - rent[c.spot, c.start]) - c.dose * prices.dose[c.thing]
    return np.asarray(worth + prices.shown[c.thing] + helps[c.thing, ends] - helps[c.thing, c.start])


def bound_at(case: Case, prices: Prices) -> Bound:
    """Return the bound at some prices, and for each column how far below it every plan with that column stays."""
    c, things, weeks = case.columns, len(case.budget), case.weeks
    worth = priced(case, prices)
    longest = int(c.weeks.max()) if len(c) else 1
    best = np.full((things, weeks, longest + 1), -np.inf)
    np.maximum.at(best, (c.thing, c.start, c.weeks), worth)
    lengths = np.arange(longest + 1)
    after = np.zeros((things, weeks + 1))  # the best from this week on
    rows = np.arange(things)[:, None]
    for week in range(weeks - 1, -1, -1):
        next_free = np.minimum(week + lengths[None, :] + case.gap[:, None], weeks)
        here = (best[:, week, :] + after[rows, next_free]).max(axis=1)
        after[:, week] = np.maximum(after[:, week + 1], here)
    before = np.zeros((things, weeks + 1))  # the best that leaves the thing free from this week on
    for week in range(weeks):
        before[:, week + 1] = np.maximum(before[:, week + 1], before[:, week])
        next_free = np.minimum(week + lengths[None, :] + case.gap[:, None], weeks)
        np.maximum.at(before, (rows, next_free), best[:, week, :] + before[:, week][:, None])
    limited = np.isfinite(case.budget)
    value = float(
        (prices.room * np.maximum(case.room, 0)).sum()
        + (prices.dose[limited] * np.maximum(case.budget[limited], 0)).sum()
        + sum(max(0.0, points - price) for (_, _, points), price in zip(case.occasions, prices.occasion, strict=True))
        + np.maximum(case.variety - prices.shown, 0).sum()
        + after[:, 0].sum()
    )
    free = np.minimum(c.start + c.weeks + case.gap[c.thing], weeks) if len(c) else c.start
    with_it = before[c.thing, c.start] + worth + after[c.thing, free]
    return Bound(value, after[c.thing, 0] - with_it)
