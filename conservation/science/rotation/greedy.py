"""Legal plans without a solver: the best showing first, again and again; and a plan read off a fractional one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from conservation.science.rotation.case import Case, Floats
from conservation.science.rotation.judge import SLACK

Bools = NDArray[np.bool_]


class Board:
    """A plan in the making: which columns are in it and which may still be added."""

    def __init__(self, case: Case) -> None:
        self.case, self.chosen = case, list[int]()
        c = case.columns
        self._end = c.start + c.weeks
        self.free: Bools = np.ones(len(c), dtype=bool)
        self.room = case.room.copy()
        self.budget = case.budget.copy()
        self.gain: Floats = c.points + case.variety[c.thing] if len(c) else c.points.copy()
        self.shown = np.zeros(len(case.variety), dtype=bool)
        self._open = []
        for week, things, points in case.occasions:
            meets = np.isin(c.thing, things) & (c.start <= week) & (week < self._end)
            self.gain[meets] += points
            self._open.append(meets)
        self.points = [points for _, _, points in case.occasions]

    def add(self, column: int) -> None:
        """Put a free column into the plan, and strike out what no longer goes with it."""
        c, case = self.case.columns, self.case
        thing, spot, start, end = (
            int(c.thing[column]),
            int(c.spot[column]),
            int(c.start[column]),
            int(self._end[column]),
        )
        self.chosen.append(column)
        self.room[spot, start:end] -= 1
        self.budget[thing] -= c.dose[column]
        apart = int(case.gap[thing])
        own = c.thing == thing
        self.free[own & (c.start < end + apart) & (start < self._end + apart)] = False
        budget = self.budget[thing]
        if np.isfinite(budget):
            self.free[own & (c.dose > budget + SLACK * max(1.0, abs(case.budget[thing])))] = False
        full = np.concatenate([[0], np.cumsum(self.room[spot] <= 0)])
        here = np.flatnonzero(self.free & (c.spot == spot))
        self.free[here[full[self._end[here]] > full[c.start[here]]]] = False
        if not self.shown[thing]:
            self.shown[thing] = True
            self.gain[own] -= case.variety[thing]
        for number, meets in enumerate(self._open):
            if self.points[number] and meets[column]:
                self.gain[meets] -= self.points[number]
                self.points[number] = 0.0

    def fill(self, weight: Floats | None = None) -> None:
        """Add free columns, the one that gains most first, until none gains anything."""
        while True:
            worth = np.where(self.free & (self.gain > 0), self.gain if weight is None else self.gain * weight, -np.inf)
            if not len(worth):
                return
            best = int(np.argmax(worth))
            if worth[best] == -np.inf:
                return
            self.add(best)


def greedy(case: Case) -> list[int]:
    """Return the columns of a legal plan: the one that gains most, again and again."""
    board = Board(case)
    board.fill()
    return board.chosen


def read_off(case: Case, columns: NDArray[np.int64], amounts: Floats) -> list[int]:
    """Return the columns of a legal plan near a fractional one: the largest amounts first, then whatever gains."""
    board = Board(case)
    for at in np.argsort(-amounts, kind="stable"):
        column = int(columns[at])
        if amounts[at] > 1e-6 and board.free[column] and board.gain[column] > 0:
            board.add(column)
    board.fill()
    return board.chosen
