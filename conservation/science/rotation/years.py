"""A closer upper bound on display plans, from whole years of a thing instead of single showings.

A *year* is everything that one thing is shown in a plan: showings that keep its rest and, together, its light. The
linear problem over single showings lets a thing have two thirds of one long showing; over whole years it cannot. The
best year at some prices is found by walking the weeks backwards with the light that is left, in `_PARTS` parts; light
is rounded down to whole parts, so that no legal year is left out and the bound holds for any prices.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from conservation.science.rotation.bound import Bound, Prices, priced
from conservation.science.rotation.case import Case, Floats, Ints
from conservation.science.rotation.judge import SLACK

_PARTS = 256  # of a thing's light
_AT_ONCE = 20_000  # columns looked at together, so that memory stays small
_NONE_LEFT = 1e-9
_YEARS_FOR_EACH = 15


class Years:
    """The years of every thing of a case, found at prices of room and occasions; light and rest are kept exactly."""

    def __init__(self, case: Case) -> None:
        c, self.case = case.columns, case
        self.free: Ints = np.minimum(c.start + c.weeks + case.gap[c.thing], case.weeks)
        self.of = [np.flatnonzero(c.thing == thing) for thing in range(len(case.budget))]
        self.light: Ints = np.zeros(len(c), dtype=np.int64)
        self._scarce = np.zeros(len(case.budget), dtype=bool)
        self._sort()
        brightest = self.after(c.dose)[:, 0, 0]
        most = case.budget + SLACK * np.maximum(1.0, np.abs(case.budget))  # what the judge lets pass
        self._scarce = brightest > most  # the others can never use up their light
        part = np.where(self._scarce, np.maximum(most, SLACK) / _PARTS, np.inf)
        self.light = np.minimum(np.floor(c.dose / part[c.thing]), _PARTS).astype(np.int64)
        self._sort()

    def _sort(self) -> None:
        scarce = self._scarce[self.case.columns.thing]
        self._starting = [self._by(self.case.columns.start, each) for each in (scarce, ~scarce)]
        self._ending = [self._by(self.free, each) for each in (scarce, ~scarce)]

    def _by(self, week: Ints, among: NDArray[np.bool_]) -> list[tuple[Ints, Ints, Ints]]:
        """Return for each week its columns sorted by thing, where each thing begins among them, and the things."""
        found = []
        thing = self.case.columns.thing
        for each in range(self.case.weeks + 1):
            at = np.flatnonzero((week == each) & among)
            at = at[np.argsort(thing[at], kind="stable")]
            first = np.flatnonzero(np.diff(thing[at], prepend=-1))
            found.append((at, first, thing[at][first]))
        return found

    def _walk(self, worth: Floats, columns: list[list[tuple[Ints, Ints, Ints]]], other: Ints, *, back: bool) -> Floats:
        """Return for each thing, week and light the most that showings on one side of the week can be worth."""
        case, thing = self.case, self.case.columns.thing
        best = np.zeros((len(case.budget), case.weeks + 1, _PARTS + 1))
        for parts, by_week in zip((_PARTS, 0), columns, strict=True):
            some = np.zeros((len(case.budget), case.weeks + 1, parts + 1))
            for week in range(case.weeks - 1, -1, -1) if back else range(1, case.weeks + 1):
                some[:, week] = some[:, week + 1 if back else week - 1]
                at, first, things = by_week[week]
                if not len(at):
                    continue
                light = np.arange(parts + 1)[None, :] - self.light[at][:, None]
                rest = some[thing[at][:, None], other[at][:, None], np.maximum(light, 0)]
                value = np.where(light >= 0, rest + worth[at][:, None], -np.inf)
                some[things, week] = np.maximum(some[things, week], np.maximum.reduceat(value, first, axis=0))
            own = self._scarce if parts else ~self._scarce
            best[own] = some[own]
        return best

    def after(self, worth: Floats) -> Floats:
        """Return the most that showings from a week on are worth, with the light left."""
        return self._walk(worth, self._starting, self.free, back=True)

    def before(self, worth: Floats) -> Floats:
        """Return the most that showings are worth which leave the thing free at a week."""
        return self._walk(worth, self._ending, self.case.columns.start, back=False)

    def worth(self, prices: Prices) -> Floats:
        """Return what each column is worth where only room and occasions are paid for."""
        nothing = np.zeros(len(self.case.budget))
        return priced(self.case, Prices(prices.room, nothing, prices.occasion, nothing))

    def best(self, worth: Floats, after: Floats) -> tuple[Floats, list[list[int]]]:
        """Return the worth of every thing's best year, 0 where none pays, and good years, a few for each thing."""
        values, years = np.zeros(len(self.of)), []
        starts = self.case.columns.start
        for thing, own in enumerate(self.of):
            if not len(own):
                continue
            whole = worth[own] + after[thing, self.free[own], _PARTS - self.light[own]] + self.case.variety[thing]
            values[thing] = max(0.0, float(whole.max()))
            order = np.argsort(-whole, kind="stable")
            _, first = np.unique(starts[own[order]], return_index=True)  # the best that begins in each week
            for at in order[np.sort(first)[:_YEARS_FOR_EACH]]:
                if whole[at] > 0:
                    column = int(own[at])
                    on = self._on(thing, worth, after, column, int(_PARTS - self.light[column]))
                    years.append([column, *on])
        return values, years

    def _on(self, thing: int, worth: Floats, after: Floats, column: int, light: int) -> list[int]:
        """Return the best showings that follow one, with the light left."""
        found, week, starts = list[int](), int(self.free[column]), self.case.columns.start
        while after[thing, week, light] > _NONE_LEFT:
            own = self.of[thing]
            own = own[(starts[own] >= week) & (self.light[own] <= light)]
            column = int(own[np.argmax(worth[own] + after[thing, self.free[own], light - self.light[own]])])
            found.append(column)
            week, light = int(self.free[column]), light - int(self.light[column])
        return found

    def _back(self, thing: int, worth: Floats, before: Floats, week: int, light: int) -> list[int]:
        """Return the best showings that leave a thing free at a week, with the light left."""
        found, starts = list[int](), self.case.columns.start
        while before[thing, week, light] > _NONE_LEFT:
            own = self.of[thing]
            own = own[(self.free[own] <= week) & (self.light[own] <= light)]
            column = int(own[np.argmax(worth[own] + before[thing, starts[own], light - self.light[own]])])
            found.append(column)
            week, light = int(starts[column]), light - int(self.light[column])
        return found

    def through(self, worth: Floats, after: Floats, before: Floats, columns: Iterable[int]) -> list[list[int]]:
        """Return the best year of each column's thing that has this column in it."""
        c, found = self.case.columns, []
        for column in columns:
            thing, left = int(c.thing[column]), _PARTS - int(self.light[column])
            early = before[thing, c.start[column], : left + 1]
            split = int(np.argmax(early + after[thing, self.free[column], : left + 1][::-1]))
            found.append([
                *self._back(thing, worth, before, int(c.start[column]), split), column,
                *self._on(thing, worth, after, column, left - split),
            ])  # fmt: skip
        return found

    def value(self, prices: Prices, of_things: Floats) -> float:
        """Return the bound at some prices, from the worth of every thing's best year."""
        case = self.case
        return float(
            (prices.room * np.maximum(case.room, 0)).sum()
            + sum(
                max(0.0, points - price) for (_, _, points), price in zip(case.occasions, prices.occasion, strict=True)
            )
            + of_things.sum()
        )

    def bound(self, prices: Prices) -> Bound:
        """Return the bound at some prices, and for each column how far below it every plan with that column stays."""
        worth = self.worth(prices)
        after, before = self.after(worth), self.before(worth)
        values, _ = self.best(worth, after)
        c, left = self.case.columns, np.arange(_PARTS + 1)
        slack = np.empty(len(c))
        for start in range(0, len(c), _AT_ONCE):
            at = slice(start, start + _AT_ONCE)
            rest = _PARTS - self.light[at][:, None] - left[None, :]
            early = before[c.thing[at], c.start[at]]
            late = after[c.thing[at][:, None], self.free[at][:, None], np.maximum(rest, 0)]
            both = np.where(rest >= 0, early + late, -np.inf).max(axis=1)
            slack[at] = values[c.thing[at]] - (both + worth[at] + self.case.variety[c.thing[at]])
        return Bound(self.value(prices, values), slack)


class YearMaster:
    """The linear problem over the years met so far: one year a thing, room of each spot and week, occasions."""

    def __init__(self, case: Case, model: Any) -> None:
        import highspy

        self.case, self.value = case, np.inf
        self._model = model
        things, room = len(case.budget), np.maximum(case.room, 0).ravel().astype(float)
        self._things, self._days = len(room), len(room) + things
        upper = np.concatenate([room, np.ones(things), np.zeros(len(case.occasions))])
        none = np.array([], dtype=np.int32)
        self._model.setOptionValue("threads", 1)
        self._model.changeObjectiveSense(highspy.ObjSense.kMaximize)
        self._model.addRows(len(upper), np.full(len(upper), -highspy.kHighsInf), upper, 0, none, none, np.array([]))
        for number, (_, _, points) in enumerate(case.occasions):
            self._model.addCol(points, 0, 1, 1, np.array([self._days + number], dtype=np.int32), np.ones(1))
        self._in: set[tuple[int, ...]] = set()

    def add(self, year: list[int]) -> bool:
        """Price a year in; False where it is in already or empty."""
        import highspy

        key = tuple(sorted(year))
        if not key or key in self._in:
            return False
        self._in.add(key)
        c, weeks = self.case.columns, self.case.weeks
        thing = int(c.thing[key[0]])
        up = {week for k in key for week in range(int(c.start[k]), int(c.start[k] + c.weeks[k]))}
        rows = [int(c.spot[k]) * weeks + w for k in key for w in range(int(c.start[k]), int(c.start[k] + c.weeks[k]))]
        met = [n for n, (week, things, _) in enumerate(self.case.occasions) if thing in things and week in up]
        at = np.array([*rows, self._things + thing, *(self._days + n for n in met)], dtype=np.int32)
        values = np.concatenate([np.ones(len(rows) + 1), -np.ones(len(met))])
        points = float(c.points[list(key)].sum() + self.case.variety[thing])
        self._model.addCol(points, 0, highspy.kHighsInf, len(at), at, values)
        return True

    def solve(self, seconds: float) -> Prices | None:
        """Solve, and return the prices of room and occasions; None when out of time."""
        import highspy

        self._model.setOptionValue("time_limit", self._model.getRunTime() + max(seconds, 0.01))
        self._model.run()
        if self._model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        self.value = float(self._model.getInfo().objective_function_value)
        dual = np.maximum(np.array(self._model.getSolution().row_dual), 0.0)
        nothing = np.zeros(len(self.case.budget))
        return Prices(dual[: self._things].reshape(self.case.room.shape), nothing, dual[self._days :], nothing)
