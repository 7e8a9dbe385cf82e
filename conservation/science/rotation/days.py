"""Proposing few days of change near the occasions of a plan, and with what numbers a plan is begun."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from functools import cache
from typing import Any

from conservation.science.sources import DATA, Citation

_EVEN = 0.02  # points that a week away from even spacing costs, squared; an occasion of weight 1 is worth one point


@cache
def _tables() -> dict[str, Any]:
    with (DATA / "showings.toml").open("rb") as file:
        return tomllib.load(file)


def begun_with() -> dict[str, int]:
    """Return the numbers that a plan is begun with: changeovers, candidates, occasions, seconds (our default)."""
    names = ("changeovers", "nearest_weeks", "lead_weeks", "candidates", "occasions", "seconds")
    return {name: int(_tables()["plan"][name]) for name in names}


def begun_with_citation() -> Citation:
    """Return who says the numbers that a plan is begun with."""
    row = _tables()["plan"]
    return Citation(row["source"], row["locator"], row["status"])


def propose(weeks: int, number: int, occasions: Iterable[tuple[int, int]], first: int = 0) -> list[int]:
    """Return the weeks at whose start things change: week ``first`` and ``number`` − 1 more before the plan ends.

    Days are spread over the weeks and lie in, or shortly before, the weeks of heavy occasions (pairs of week and
    weight), so that what goes up for a day is up in it. Fewer come back where the weeks do not hold so many.
    """
    numbers = _tables()["plan"]
    nearest, lead = int(numbers["nearest_weeks"]), int(numbers["lead_weeks"])
    worth = [0.0] * (weeks + 1)
    for week, weight in occasions:
        for ahead in range(lead + 1):
            if first <= week - ahead <= weeks:
                worth[week - ahead] += weight * (1 - 0.1 * ahead)
    more = min(max(0, number - 1), max(0, (weeks - first) // nearest - 1))
    even = (weeks - first) / (more + 1)
    # best[week]: the best so far with a day of change at the start of this week, and the days that led to it
    best: dict[int, tuple[float, tuple[int, ...]]] = {first: (0.0, (first,))}
    for _ in range(more):
        after: dict[int, tuple[float, tuple[int, ...]]] = {}
        for last, (points, days) in best.items():
            for week in range(last + nearest, weeks - nearest + 1):
                found = points + worth[week] - _EVEN * (week - last - even) ** 2
                if week not in after or found > after[week][0]:
                    after[week] = (found, (*days, week))
        best = after or best
    return list(max(best.values(), key=lambda each: each[0] - _EVEN * (weeks - each[1][-1] - even) ** 2)[1])
