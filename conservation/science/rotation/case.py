"""A display problem laid out as arrays: which showings are possible at all, what each earns and costs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from conservation.science.rotation.judge import (
    A_CHANGE,
    A_WEEK,
    OCCASION,
    SLACK,
    VARIETY,
    Showing,
    budget_of,
    dose_of,
    fixed_showings,
    met_occasions,
)
from conservation.science.rotation.problem import Input, Spot, gap_weeks, least_weeks, lux_in, most_weeks, weekly_dose

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Columns:
    """All showings that are possible by themselves, one entry each."""

    thing: Ints
    spot: Ints
    start: Ints
    weeks: Ints
    dose: Floats
    points: Floats

    def __len__(self) -> int:
        return len(self.thing)


@dataclass(frozen=True)
class Case:
    """What is left to decide once the settled showings stand."""

    problem: Input
    weeks: int
    room: Ints  # spots × weeks: how many more a spot can take
    gap: Ints  # things: weeks between two showings
    budget: Floats  # things: lux hours left; infinite without a limit
    variety: Floats  # things: points for being shown at all; 0 where a settled showing has earned them
    occasions: list[tuple[int, tuple[int, ...], float]]  # week, things, points; those not met by settled showings
    columns: Columns
    settled: list[Showing]

    def showing(self, column: int) -> Showing:
        """Return a column as a showing."""
        c = self.columns
        return Showing(
            self.problem.things[c.thing[column]].id,
            self.problem.spots[c.spot[column]].id,
            int(c.start[column]),
            int(c.weeks[column]),
        )


def lay_out(problem: Input) -> Case:
    """Lay out a problem whose settled showings do not clash."""
    weeks = problem.weeks or 52
    settled = fixed_showings(problem)
    spot_at = {spot.id: number for number, spot in enumerate(problem.spots)}
    thing_at = {thing.id: number for number, thing in enumerate(problem.things)}
    room = np.array([[spot.capacity or 1] * weeks for spot in problem.spots], dtype=np.int64).reshape(-1, weeks)
    budget = np.array([np.inf if (left := budget_of(thing)) is None else left for thing in problem.things])
    for each in settled:
        room[spot_at[each.spot], each.from_week : each.end] -= 1
        budget[thing_at[each.thing]] -= dose_of(problem.spots[spot_at[each.spot]], each)
    shown = {each.thing for each in settled}
    met = met_occasions(problem, settled)
    return Case(
        problem=problem,
        weeks=weeks,
        room=room,
        gap=np.array([gap_weeks(thing) for thing in problem.things], dtype=np.int64),
        budget=budget,
        variety=np.array(
            [0.0 if thing.id in shown else float(VARIETY * thing.value) for thing in problem.things], dtype=np.float64
        ),
        occasions=[
            (each.week, tuple(sorted({thing_at[name] for name in each.things})), float(OCCASION * each.weight))
            for each in problem.occasions or []
            if each.id not in met and each.things
        ],
        columns=_columns(problem, weeks, room, budget, settled),
        settled=settled,
    )


def _columns(problem: Input, weeks: int, room: Ints, budget: Floats, settled: list[Showing]) -> Columns:
    """Return every showing that keeps all rules by itself and beside the settled ones."""
    changes = np.ones(weeks + 1, dtype=bool)
    if problem.change_weeks is not None:
        changes[:] = False
        changes[[0, weeks, *problem.change_weeks]] = True
    spots = [_Windows(spot, weeks, room[number] > 0) for number, spot in enumerate(problem.spots)]
    found: list[list[NDArray[Any]]] = []
    for i, thing in enumerate(problem.things):
        own = [each for each in settled if each.thing == thing.id]
        least, most = least_weeks(thing), min(most_weeks(thing), weeks)
        if least > most:
            continue
        may = np.zeros((weeks, weeks + 1), dtype=bool)  # by start and length
        starts, lengths = np.arange(weeks)[:, None], np.arange(weeks + 1)[None, :]
        ends = starts + lengths
        may = (lengths >= least) & (lengths <= most) & (ends <= weeks) & (starts >= (thing.not_before_week or 0))
        may &= changes[starts] & changes[np.minimum(ends, weeks)]
        for each in own:
            apart = gap_weeks(thing)
            may &= (starts >= each.end + apart) | (each.from_week >= ends + apart)
        barred = set(thing.barred_spots or [])
        for s, spot in enumerate(problem.spots):
            if thing.width_mm > spot.width_mm or thing.height_mm > spot.height_mm or spot.id in barred:
                continue
            here = may & spots[s].open
            if thing.lux_ceiling is not None:
                here &= spots[s].brightest <= thing.lux_ceiling
            here &= spots[s].dose <= budget[i] + SLACK * max(1.0, abs(budget[i])) if np.isfinite(budget[i]) else True
            start, length = np.nonzero(here)
            points = length * (A_WEEK + thing.value) - A_CHANGE
            found.append([np.full(len(start), i), np.full(len(start), s), start, length, spots[s].dose[here], points])
    if not found:
        found = [[np.array([])] * 6]
    thing_of, spot_of, start_of, length_of, dose, points = (np.concatenate(each) for each in zip(*found, strict=True))
    return Columns(
        thing_of.astype(np.int64), spot_of.astype(np.int64), start_of.astype(np.int64), length_of.astype(np.int64),
        dose.astype(np.float64), points.astype(np.float64),
    )  # fmt: skip


class _Windows:
    """All stretches of weeks at a spot, by first week and length: dose, brightest lux, whether there is room."""

    def __init__(self, spot: Spot, weeks: int, is_open: NDArray[np.bool_]) -> None:
        self.dose = np.full((weeks, weeks + 1), np.inf)
        self.brightest = np.full((weeks, weeks + 1), np.inf)
        self.open = np.zeros((weeks, weeks + 1), dtype=bool)
        doses = np.array([weekly_dose(spot, week) for week in range(weeks)])
        luxes = np.array([lux_in(spot, week) for week in range(weeks)])
        for start in range(weeks):
            # Summed week by week as the judge does, so that both find the same last digit.
            self.dose[start, 1 : weeks - start + 1] = np.cumsum(doses[start:])
            self.brightest[start, 1 : weeks - start + 1] = np.maximum.accumulate(luxes[start:])
            self.open[start, 1 : weeks - start + 1] = np.logical_and.accumulate(is_open[start:])
