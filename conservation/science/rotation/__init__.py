"""A display plan for the weeks ahead: which thing hangs where and when, so that family days are met and light is kept.

Rules and score are those of the topic `rotation`; the points stand in ``data/rotation.toml`` (our default).
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from conservation.science.rotation.answer import gap_pct, missed, unused
from conservation.science.rotation.judge import Showing, clashes, dose_of, fixed_showings, score
from conservation.science.rotation.problem import Input, check

__all__ = ["Input", "Showing", "clashes", "score", "work_out"]


def work_out(problem: Input, so_far: Callable[[dict[str, Any]], None] | None = None) -> dict[str, Any]:
    """Answer the topic `rotation`. The clock starts when the solver has been imported.

    ``so_far`` hears the answer as it stands whenever the plan or the bound is better; each is legal.

    Raises:
        InputError: an id, a week or a list does not fit.
    """
    check(problem)
    settled = fixed_showings(problem)
    against = clashes(problem, settled)
    if against:
        return _answer(problem, "infeasible", None, None, [], [each.__dict__ for each in against])
    import highspy  # noqa: F401 - heavy; the limit counts from when it is in

    from conservation.science.rotation.case import lay_out
    from conservation.science.rotation.solve import Best, solve, whole

    deadline = time.monotonic() + (20 if problem.limit_s is None else problem.limit_s)
    case = lay_out(problem)
    base = score(problem, settled)

    def as_answer(best: Best) -> dict[str, Any]:
        plan = sorted(
            [*settled, *map(case.showing, best.columns)], key=lambda each: (each.from_week, each.spot, each.thing)
        )
        reached = score(problem, plan)
        bound = max(base + whole(best.bound), reached)
        return _answer(problem, "optimal" if bound == reached else "feasible", reached, bound, plan, [])

    def heard(best: Best) -> None:
        if so_far is not None:
            so_far(as_answer(best))

    seed = 1 if problem.seed is None else problem.seed
    return as_answer(solve(case, deadline, seed, heard if so_far is not None else None))


def _answer(
    problem: Input, status: str, reached: int | None, bound: int | None, plan: list[Showing], against: list[Any]
) -> dict[str, Any]:
    from conservation.science.figures import figures
    from conservation.science.sources import cited

    spots = {spot.id: spot for spot in problem.spots}
    doses = {thing.id: 0.0 for thing in problem.things}
    for each in plan:
        doses[each.thing] += dose_of(spots[each.spot], each)
    return {
        "status": status,
        "score": reached,
        "bound": bound,
        "gap_pct": gap_pct(reached, bound),
        "showings": [each.__dict__ for each in plan],
        "missed_occasions": [] if status == "infeasible" else missed(problem, plan),
        "unused_things": [] if status == "infeasible" else unused(problem, plan),
        "doses": doses if status != "infeasible" else {},
        "clashes": [
            {"rule": each["rule"], "say": each["say"], "showings": [one.__dict__ for one in each["showings"]]}
            for each in against
        ],
        "sources": cited(figures("rotation").cite()),
        "notes": [],
    }
