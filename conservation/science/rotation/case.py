"""A display problem laid out as arrays: which showings are possible at all, what each earns and costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from conservation.science.rotation.judge import (
    A_CHANGE,
    A_WEEK,
    OCCASION,
    VARIETY,
    Showing,
    budget_of,
    dose_of,
    fixed_showings,
    met_occasions,
    within,
)
from conservation.science.rotation.problem import Input, gap_weeks, least_weeks, lux_in, most_weeks, weekly_dose

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
    doses = np.array([[weekly_dose(spot, week) for week in range(weeks)] for spot in problem.spots]).reshape(-1, weeks)
    luxes = np.array([[lux_in(spot, week) for week in range(weeks)] for spot in problem.spots]).reshape(-1, weeks)
    rows: list[tuple[int, int, int, int, float, float]] = []
    for i, thing in enumerate(problem.things):
        apart = gap_weeks(thing)
        own = [each for each in settled if each.thing == thing.id]
        barred = set(thing.barred_spots or [])
        least, most = least_weeks(thing), min(most_weeks(thing), weeks)
        for s, spot in enumerate(problem.spots):
            if thing.width_mm > spot.width_mm or thing.height_mm > spot.height_mm or spot.id in barred:
                continue
            open_ = room[s] > 0
            if thing.lux_ceiling is not None:
                open_ = open_ & (luxes[s] <= thing.lux_ceiling)
            for start in range(thing.not_before_week or 0, weeks):
                if not changes[start] or not open_[start]:
                    continue
                dose = 0.0
                for length in range(1, min(most, weeks - start) + 1):
                    week = start + length - 1
                    if not open_[week]:
                        break
                    dose += doses[s, week]
                    if not within(dose, budget[i]):
                        break
                    if length < least or not changes[week + 1]:
                        continue
                    if any(start < each.end + apart and each.from_week < week + 1 + apart for each in own):
                        continue
                    rows.append((i, s, start, length, dose, length * (A_WEEK + thing.value) - A_CHANGE))
    table = np.array(rows, dtype=np.float64).reshape(-1, 6)
    whole = table[:, :4].astype(np.int64)
    return Columns(whole[:, 0], whole[:, 1], whole[:, 2], whole[:, 3], table[:, 4], table[:, 5])
