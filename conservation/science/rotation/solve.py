"""The display plan: showings priced in as columns, a bound by arithmetic, and a search over the columns that matter.

The linear problem over whole showings (thing, spot, first week, length) is solved by column generation with HiGHS.
Its prices give a bound that holds whatever the solver's tolerances (`bound`). Parts of the best plan are reworked
(`rework`). Only columns that could be in a better plan than the best one known go into the whole-number search; so a
finished search proves its plan.
"""

from __future__ import annotations

import math
import os
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from conservation.science.rotation.bound import Bound, Prices, bound_at, no_prices, priced
from conservation.science.rotation.case import Case, Floats
from conservation.science.rotation.greedy import greedy, read_off
from conservation.science.rotation.rework import rework
from conservation.science.rotation.years import YearMaster, Years

Ints = NDArray[np.int64]
_NEW_FOR_EACH_PAIR = 3
_MOST_NEW = 4000
_PATIENCE, _NODES_FOR_A_PART = 5, 60
_ROUNDS_OF_YEARS, _LOOKS_AT_COLUMNS = 60, 4_000_000  # what the bound by years may cost
_A_LOOK = 4e-6  # seconds, about, that a look at one column takes; with less left there is no beginning
_TOWARDS_BEST, _NEAR_ENOUGH = 0.6, 0.05
_FIRST_COLUMNS, _LEAST_FILTER = 3000, 0.1
_FIRST_FILTER, _FIRST_SHARE = 0.5, 0.125  # points below the bound, and share of the gap; doubled after each search


@dataclass
class Best:
    """The best plan and the lowest bound so far; scores are without those of settled showings."""

    columns: list[int]
    score: int
    bound: float

    @property
    def is_proven(self) -> bool:
        return self.score >= whole(self.bound)


@dataclass
class Search:
    """One run: its clock, what it found, and who is told of every better plan."""

    case: Case
    deadline: float
    seed: int
    tell: Callable[[Best], None] | None = None
    best: Best = field(init=False)

    def left(self) -> float:
        """Return the seconds left."""
        return self.deadline - time.monotonic()

    def offer(self, columns: list[int]) -> None:
        """Take a legal plan if it is better than the best one known."""
        found = score_of(self.case, columns)
        if found > self.best.score:
            self.best.columns, self.best.score = sorted(columns), found
            self.report()

    def report(self) -> None:
        """Tell whoever waits."""
        if self.tell is not None:
            self.tell(self.best)


def whole(bound: float) -> int:
    """Return the largest whole score that a bound allows; sums of floats may be a hair below a whole number."""
    return math.floor(bound + 1e-6)


def score_of(case: Case, columns: list[int]) -> int:
    """Return the points of a set of columns, without those of settled showings."""
    c = case.columns
    points = sum(float(c.points[column]) for column in columns)
    points += sum(float(case.variety[thing]) for thing in {int(c.thing[column]) for column in columns})
    for week, things, worth in case.occasions:
        if any(
            int(c.thing[column]) in things and c.start[column] <= week < c.start[column] + c.weeks[column]
            for column in columns
        ):
            points += worth
    return round(points)


def solve(case: Case, deadline: float, seed: int, tell: Callable[[Best], None] | None = None) -> Best:
    """Return the best plan found by a deadline (`time.monotonic`), with a proven bound.

    ``tell`` is called with every better plan or bound.
    """
    search = Search(case, deadline, seed, tell)
    search.best = Best([], 0, bound_at(case, no_prices(case)).value)
    if not len(case.columns):
        search.best.bound = 0.0
        return search.best
    search.offer(greedy(case))
    if search.best.is_proven or search.left() <= 0:
        return search.best
    master = _Master(case)
    bound, prices = _price_in(search, master)
    rounds = min(_ROUNDS_OF_YEARS, int(_LOOKS_AT_COLUMNS / len(case.columns)))
    if not search.best.is_proven and rounds > 2 and search.left() > _A_LOOK * len(case.columns):
        bound = _by_years(search, master, bound, prices, rounds)
    if not search.best.is_proven and search.left() > 0.05:
        _rework(search, bound)
    _search_wider_and_wider(search, bound)
    return search.best


def _search_wider_and_wider(search: Search, bound: Bound) -> None:
    """Search the columns near the bound, then more of them, until no column left out could be in a better plan."""
    threshold = max(_FIRST_FILTER, (bound.value - search.best.score) * _FIRST_SHARE)
    if len(bound.slack) > _FIRST_COLUMNS:
        near = float(np.partition(bound.slack, _FIRST_COLUMNS)[_FIRST_COLUMNS])
        threshold = min(threshold, max(near, _LEAST_FILTER))
    while not search.best.is_proven and search.left() > 0.05:
        # A plan with a column that is further below the bound than this is not even one point better.
        enough = max(bound.value - search.best.score - 1, 0.0) + 1e-6
        threshold = min(threshold, enough)
        if not _search_columns(search, bound, threshold):
            return
        outside = search.best.score if threshold >= enough else bound.value - threshold
        search.best.bound = min(search.best.bound, max(float(search.best.score), outside))
        search.report()
        threshold *= 2


def _price_in(search: Search, master: _Master) -> tuple[Bound, Prices]:
    """Solve the linear problem by column generation; return the best bound met on the way, and its prices."""
    case = search.case
    master.add(np.array(sorted(search.best.columns), dtype=np.int64))
    at = no_prices(case)
    best = bound_at(case, at)
    rounds = 0
    while search.left() > 0:
        prices, cliques = master.solve(search.left())
        if prices is None:
            break
        found = bound_at(case, prices)
        if found.value < best.value:
            best, at = found, prices
            search.best.bound = min(search.best.bound, found.value)
        rounds += 1
        if rounds % 8 == 1 or found.value - master.value < 1:
            search.offer(read_off(case, master.columns(), master.amounts()))
        if search.best.is_proven or found.value - master.value < 1e-3:
            break
        new = master.missing(_worth(case, prices, cliques))
        if not len(new):
            break
        master.add(new)
    search.report()
    return best, at


def _by_years(search: Search, master: _Master, bound: Bound, prices: Prices, rounds: int) -> Bound:
    """Bring the bound down by pricing whole years of things; return the lower of both bounds.

    New prices are drawn towards those of the best bound, since prices of few years swing far.
    """
    case = search.case
    years, fewer = Years(case), YearMaster(case, _silent())
    worth = years.worth(prices)
    after, before = years.after(worth), years.before(worth)
    amounts = master.amounts()
    wanted = master.columns()[np.flatnonzero(amounts > 1e-6)] if len(amounts) else np.array([], dtype=np.int64)
    for year in years.through(worth, after, before, map(int, np.union1d(wanted, search.best.columns).astype(int))):
        fewer.add(year)
    best, lowest, at = prices, math.inf, prices
    for _ in range(rounds):
        if search.left() <= 0.1:
            break
        worth = years.worth(at)
        values, found = years.best(worth, years.after(worth))
        if (value := years.value(at, values)) < lowest:
            lowest, best = value, at
            search.best.bound = min(search.best.bound, value)
        for year in found:
            fewer.add(year)
        new = fewer.solve(search.left())
        if new is None or search.best.is_proven or lowest - fewer.value < _NEAR_ENOUGH:
            break
        at = Prices(
            _TOWARDS_BEST * best.room + (1 - _TOWARDS_BEST) * new.room, new.dose,
            _TOWARDS_BEST * best.occasion + (1 - _TOWARDS_BEST) * new.occasion, new.shown,
        )  # fmt: skip
    search.report()
    return years.bound(best) if lowest < bound.value and search.left() > 0.1 else bound


def _worth(case: Case, prices: Prices, cliques: Floats) -> Floats:
    """Return the reduced profit of every column, the price of its thing's time included."""
    c = case.columns
    taken = np.concatenate([np.zeros((len(cliques), 1)), np.cumsum(cliques, axis=1)], axis=1)
    free = np.minimum(c.start + c.weeks + case.gap[c.thing], case.weeks)
    return np.asarray(priced(case, prices) - (taken[c.thing, free] - taken[c.thing, c.start]))


class _Rows:
    """Where each rule stands among the rows of the linear problem."""

    def __init__(self, case: Case) -> None:
        spots, weeks = case.room.shape
        things = len(case.budget)
        self.limited = np.flatnonzero(np.isfinite(case.budget))
        self.dose_at = {int(thing): n for n, thing in enumerate(self.limited)}
        self.spot, self.clique = 0, spots * weeks
        self.dose = self.clique + things * weeks
        self.shown = self.dose + len(self.limited)
        self.occasion = self.shown + things
        self.count = self.occasion + len(case.occasions)
        self.upper = np.concatenate(
            [
                np.maximum(case.room, 0).ravel().astype(float), np.ones(things * weeks),
                np.maximum(case.budget[self.limited], 0),  # what has had too much gets no column, and spoils no row
                np.zeros(things), np.zeros(len(case.occasions)),
            ]
        )  # fmt: skip
        self.by_thing: dict[int, list[tuple[int, int]]] = {}
        for number, (week, of, _) in enumerate(case.occasions):
            for thing in of:
                self.by_thing.setdefault(thing, []).append((week, self.occasion + number))

    def entries(self, case: Case, column: int) -> tuple[list[int], list[float]]:
        """Return rows and coefficients of a column."""
        c, weeks = case.columns, case.weeks
        thing, spot, start = int(c.thing[column]), int(c.spot[column]), int(c.start[column])
        end = start + int(c.weeks[column])
        rows = list(range(self.spot + spot * weeks + start, self.spot + spot * weeks + end))
        free = min(end + int(case.gap[thing]), weeks)
        rows += range(self.clique + thing * weeks + start, self.clique + thing * weeks + free)
        values = [1.0] * len(rows)
        if thing in self.dose_at and c.dose[column] > 0:
            rows.append(self.dose + self.dose_at[thing])
            values.append(float(c.dose[column]))
        rows.append(self.shown + thing)
        values.append(-1.0)
        for week, row in self.by_thing.get(thing, ()):
            if start <= week < end:
                rows.append(row)
                values.append(-1.0)
        return rows, values


def _silent() -> Any:
    """Return a new HiGHS model that says nothing; the library greets on the process's output when first used."""
    import highspy

    sys.stdout.flush()
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        model = highspy.Highs()  # type: ignore[no-untyped-call]
        model.silent()
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
    return model


def _model(case: Case, rows: _Rows, *, threads: int = 0) -> Any:
    """Return a HiGHS model with all rows and the helper columns: a thing is shown, an occasion is met."""
    import highspy

    model = _silent()
    model.setOptionValue("threads", threads)
    model.changeObjectiveSense(highspy.ObjSense.kMaximize)
    infinity = highspy.kHighsInf
    none = np.array([], dtype=np.int32)
    model.addRows(rows.count, np.full(rows.count, -infinity), rows.upper, 0, none, none, np.array([]))
    things = len(case.budget)
    cost = np.concatenate([case.variety, [points for _, _, points in case.occasions]])
    starts = np.arange(len(cost), dtype=np.int32)
    at = np.concatenate([rows.shown + np.arange(things), rows.occasion + np.arange(len(case.occasions))])
    model.addCols(
        len(cost), cost, np.zeros(len(cost)), np.ones(len(cost)), len(cost), starts, at.astype(np.int32),
        np.ones(len(cost)),
    )  # fmt: skip
    return model


def _add_columns(model: Any, case: Case, rows: _Rows, columns: Ints) -> None:
    import highspy

    starts, indices, values = [], list[int](), list[float]()
    for column in columns:
        starts.append(len(indices))
        at, coefficients = rows.entries(case, int(column))
        indices += at
        values += coefficients
    count = len(columns)
    model.addCols(
        count, case.columns.points[columns], np.zeros(count), np.full(count, highspy.kHighsInf), len(indices),
        np.array(starts, dtype=np.int32), np.array(indices, dtype=np.int32), np.array(values),
    )  # fmt: skip


class _Master:
    """The linear problem over the columns priced in so far."""

    def __init__(self, case: Case) -> None:
        self.case, self.rows = case, _Rows(case)
        self.model = _model(case, self.rows, threads=1)
        self._helpers = len(case.budget) + len(case.occasions)
        self._in = np.zeros(len(case.columns), dtype=bool)
        self._order: list[int] = []
        self.value = math.inf

    def columns(self) -> Ints:
        """Return the columns priced in, in their order."""
        return np.array(self._order, dtype=np.int64)

    def amounts(self) -> Floats:
        """Return how much of each column priced in the last solution takes."""
        return np.array(self.model.getSolution().col_value[self._helpers :])

    def add(self, columns: Ints) -> None:
        """Price columns in."""
        if len(columns):
            _add_columns(self.model, self.case, self.rows, columns)
            self._in[columns] = True
            self._order += [int(each) for each in columns]

    def missing(self, worth: Floats) -> Ints:
        """Return the best columns that are not in yet: a few for each thing at each spot."""
        c = self.case.columns
        found = np.flatnonzero((worth > 1e-6) & ~self._in)
        if not len(found):
            return found
        pair = c.thing[found] * len(self.case.room) + c.spot[found]
        order = np.lexsort((found, -worth[found], pair))
        found, pair = found[order], pair[order]
        first = np.concatenate([[0], np.flatnonzero(np.diff(pair)) + 1])
        rank = np.arange(len(found)) - np.repeat(first, np.diff(np.append(first, len(found))))
        found = found[rank < _NEW_FOR_EACH_PAIR]
        return np.asarray(found[np.argsort(-worth[found], kind="stable")[:_MOST_NEW]])

    def solve(self, seconds: float) -> tuple[Prices | None, Floats]:
        """Solve, and return the prices (clipped at zero) and the price of each thing's time; None when out of time."""
        import highspy

        case, rows = self.case, self.rows
        self.model.setOptionValue("time_limit", self.model.getRunTime() + max(seconds, 0.01))
        self.model.run()
        things, weeks = len(case.budget), case.weeks
        if self.model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None, np.zeros((things, weeks))
        self.value = float(self.model.getInfo().objective_function_value)
        dual = np.maximum(np.array(self.model.getSolution().row_dual), 0.0)
        dose = np.zeros(things)
        dose[rows.limited] = dual[rows.dose : rows.shown]
        prices = Prices(
            dual[rows.spot : rows.clique].reshape(case.room.shape), dose, dual[rows.occasion :],
            dual[rows.shown : rows.occasion],
        )  # fmt: skip
        return prices, dual[rows.clique : rows.dose].reshape(things, weeks)


def _search_columns(search: Search, bound: Bound, threshold: float) -> bool:
    """Search the plans over the columns within a threshold of the bound; say whether the search was finished."""
    import highspy

    case, best = search.case, search.best
    columns = np.flatnonzero(bound.slack <= threshold)
    columns = np.union1d(columns, np.array(best.columns, dtype=np.int64))
    model, helpers = _whole_numbers(case, columns, search)
    _begin_with(model, case, best.columns, columns)
    _listen(search, model, columns, helpers)
    model.run()
    solution = model.getSolution()
    info = model.getInfo()
    if solution.value_valid and len(solution.col_value):
        taken = np.array(solution.col_value[helpers:])
        found = legal(case, [int(columns[at]) for at in np.flatnonzero(taken > 0.5)])
        search.offer(found)
        if score_of(case, found) < round(info.objective_function_value):
            return False  # the solver's tolerance let something in that is not legal: nothing is proven by it
    limit = float(info.mip_dual_bound)
    outside = bound.value - threshold
    if math.isfinite(limit):
        best.bound = min(best.bound, max(limit, outside))
    return bool(model.getModelStatus() == highspy.HighsModelStatus.kOptimal)


def _rework(search: Search, bound: Bound) -> None:
    """Improve the best plan part by part; each part is searched over few columns, and not longer than it pays."""

    def fill(rest: Case, free: Ints, out: list[int]) -> list[int] | None:
        if search.left() <= 0.1:
            return None
        columns = np.union1d(free, np.array(out, dtype=np.int64))
        model, helpers = _whole_numbers(rest, columns, search)
        model.setOptionValue("mip_max_nodes", _NODES_FOR_A_PART)
        model.setOptionValue("mip_max_stall_nodes", _NODES_FOR_A_PART // 2)
        _begin_with(model, rest, out, columns)
        model.run()
        solution = model.getSolution()
        if not (solution.value_valid and len(solution.col_value)):
            return out
        taken = np.array(solution.col_value[helpers:])
        return legal(rest, [int(columns[at]) for at in np.flatnonzero(taken > 0.5)])

    rework(
        search.case, lambda: (search.best.columns, search.best.score), bound.slack, bound.value, search.seed, fill,
        search.offer, _PATIENCE,
    )  # fmt: skip


def _whole_numbers(case: Case, columns: Ints, search: Search) -> tuple[Any, int]:
    """Return a model that takes each column or not, and how many helper columns stand before them."""
    import highspy

    rows = _Rows(case)
    model = _model(case, rows)
    _add_columns(model, case, rows, columns)
    helpers = len(case.budget) + len(case.occasions)
    places = np.arange(helpers, helpers + len(columns), dtype=np.int32)
    model.changeColsIntegrality(len(columns), places, np.array([highspy.HighsVarType.kInteger] * len(columns)))
    model.setOptionValue("random_seed", search.seed)
    model.setOptionValue("mip_rel_gap", 0.0)
    model.setOptionValue("mip_abs_gap", 0.999)  # scores are whole numbers
    model.setOptionValue("time_limit", max(search.left() * 0.95, 0.05))  # it looks at its clock now and then only
    return model, helpers


def legal(case: Case, columns: list[int]) -> list[int]:
    """Return those of some columns that go together by exact sums; a solver's tolerance may let one too many in."""
    from conservation.science.rotation.greedy import Board

    board = Board(case)
    for column in sorted(columns, key=lambda each: (-case.columns.points[each], each)):
        if board.free[column]:
            board.add(column)
    return board.chosen


def _begin_with(model: Any, case: Case, plan: list[int], columns: Ints) -> None:
    """Give the search the best plan known to begin with."""
    import highspy

    c, chosen = case.columns, set(plan)
    shown = {int(c.thing[column]) for column in plan}
    helpers = [1.0 if thing in shown else 0.0 for thing in range(len(case.budget))]
    for week, things, _ in case.occasions:
        met = any(int(c.thing[k]) in things and c.start[k] <= week < c.start[k] + c.weeks[k] for k in plan)
        helpers.append(1.0 if met else 0.0)
    solution = highspy.HighsSolution()
    solution.col_value = helpers + [1.0 if int(column) in chosen else 0.0 for column in columns]
    model.setSolution(solution)


def _listen(search: Search, model: Any, columns: Ints, helpers: int) -> None:
    """Hear of better plans while the search runs."""
    if search.tell is None:
        return

    def better(event: Any) -> None:
        taken = np.array(event.data_out.mip_solution[helpers:])
        search.offer(legal(search.case, [int(columns[at]) for at in np.flatnonzero(taken > 0.5)]))

    model.cbMipImprovingSolution += better
