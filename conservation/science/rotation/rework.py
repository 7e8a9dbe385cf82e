"""Better plans by reworking a part of the best one known: all else stands, the part is searched anew to its end.

Parts are a stretch of weeks, a few spots, or a few things. Nothing here proves anything; it finds good plans early,
so that the search over all columns has less to look at.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from conservation.science.rotation.case import Case
from conservation.science.rotation.greedy import Board

Ints = NDArray[np.int64]
_PART = 0.4  # of the weeks, the spots or the things
_COLUMNS_FOR_EACH = 45  # for each showing taken out, the best ones; more of them take longer than they pay


def parts(case: Case, plan: list[int], chance: random.Random) -> Iterator[set[int]]:
    """Yield, without end, the showings of a plan that are to be taken out together."""
    c = case.columns
    spots, things = len(case.room), len(case.budget)
    while True:
        width = max(round(case.weeks * _PART), 1)
        start = chance.randrange(-width // 2, case.weeks - width // 2)
        yield {k for k in plan if c.start[k] < start + width and c.start[k] + c.weeks[k] > start}
        some = set(chance.sample(range(spots), max(1, round(spots * _PART))))
        yield {k for k in plan if int(c.spot[k]) in some}
        few = set(chance.sample(range(things), max(1, round(things * _PART))))
        yield {k for k in plan if int(c.thing[k]) in few}


def left_over(
    case: Case, kept: list[int], most: int, within: NDArray[np.bool_], slack: NDArray[np.float64]
) -> tuple[Case, Ints]:
    """Return the case that is left once some showings stand, and at most so many columns that still go with them."""
    board = Board(case)
    for column in kept:
        board.add(column)
    free = np.flatnonzero(board.free & within)
    if len(free) > most:
        free = np.sort(free[np.argsort(slack[free], kind="stable")[:most]])
    rest = replace(
        case,
        room=board.room,
        budget=board.budget,
        variety=np.where(board.shown, 0.0, case.variety),
        occasions=[(week, of, worth) for (week, of, _), worth in zip(case.occasions, board.points, strict=True)],
    )
    return rest, free


def rework(
    case: Case,
    best: Callable[[], tuple[list[int], int]],
    slack: NDArray[np.float64],
    bound: float,
    seed: int,
    search: Callable[[Case, Ints, list[int]], list[int] | None],
    offer: Callable[[list[int]], None],
    patience: int,
) -> None:
    """Rework parts of the best plan until ``patience`` parts in a row gave nothing better.

    Args:
        case: the whole problem.
        best: the columns and the score of the best plan known.
        slack: how far below ``bound`` every plan with a column stays.
        bound: a bound on all plans.
        seed: for the choice of parts.
        search: fills the part anew; None when there is no time left.
        offer: takes a plan that may be better.
        patience: parts in a row without gain.
    """
    chance, idle = random.Random(seed), 0  # noqa: S311 - a choice of parts, not a secret
    while idle < patience:
        plan, score = best()
        if score >= bound - 1e-6:
            return
        for out in parts(case, plan, chance):
            kept = [column for column in plan if column not in out]
            rest, free = left_over(case, kept, _COLUMNS_FOR_EACH * len(out), slack <= bound - score - 1 + 1e-6, slack)
            if not len(free):
                idle += 1
            else:
                found = search(rest, free, sorted(out))
                if found is None:
                    return
                offer([*kept, *found])
                idle = 0 if best()[1] > score else idle + 1
            if idle == 0 or idle >= patience:
                break
