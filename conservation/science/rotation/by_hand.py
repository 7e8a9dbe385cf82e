"""A plan changed by hand: what one showing would break, and the longest that would be legal."""

from __future__ import annotations

from collections.abc import Sequence

from conservation.science.rotation.judge import (
    A_CHANGE,
    A_WEEK,
    OCCASION,
    VARIETY,
    Clash,
    Showing,
    clashes,
    met_occasions,
)
from conservation.science.rotation.problem import Input, most_weeks


def broken_by(problem: Input, plan: Sequence[Showing], one: Showing) -> list[Clash]:
    """Return the rules that a plan with one more showing breaks and that this showing has part in."""
    if one.from_week < 0 or one.weeks < 1 or one.end > (problem.weeks or 52):
        return clashes(problem, [one])
    beside = [each for each in plan if each != one and (each.spot == one.spot or each.thing == one.thing)]
    near = _part(problem, beside, one)
    return [each for each in clashes(near, [*beside, one]) if one in each.showings]


def _part(problem: Input, beside: Sequence[Showing], one: Showing) -> Input:
    """Return the problem with only the things and spots that a showing has to do with, so that judging is quick."""
    things = {one.thing, *(each.thing for each in beside)}
    spots = {one.spot, *(each.spot for each in beside)}
    fixed = [each for each in problem.fixed or [] if each.thing in things and each.spot in spots]
    return problem.model_copy(
        update={
            "things": [each for each in problem.things if each.id in things],
            "spots": [each for each in problem.spots if each.id in spots],
            "occasions": [],
            "fixed": fixed,
        }
    )


def longest_legal(
    problem: Input, plan: Sequence[Showing], thing: str, spot: str, from_week: int | None = None
) -> Showing | None:
    """Return the longest showing of a thing at a spot that goes with a plan, from one week or from any.

    Of several equally long the earliest; None where there is none.
    """
    weeks = problem.weeks or 52
    days = set(range(weeks + 1)) if problem.change_weeks is None else {0, weeks, *problem.change_weeks}
    starts = sorted(days - {weeks}) if from_week is None else [from_week]
    most = next(most_weeks(each) for each in problem.things if each.id == thing)
    pairs = [(end - start, start) for start in starts for end in days if start < end <= start + most]
    for length, start in sorted(pairs, key=lambda each: (-each[0], each[1])):
        one = Showing(thing, spot, start, length)
        if not broken_by(problem, plan, one):
            return one
    return None


def score_parts(problem: Input, plan: Sequence[Showing]) -> dict[str, int]:
    """Return what a plan's score is made of: weeks on the wall, changes (below 0), variety, days met."""
    value = {thing.id: thing.value for thing in problem.things}
    met = met_occasions(problem, plan)
    return {
        "weeks": sum(each.weeks * (A_WEEK + value[each.thing]) for each in plan),
        "changes": -A_CHANGE * len(plan),
        "variety": sum(VARIETY * value[thing] for thing in {each.thing for each in plan}),
        "days": sum(OCCASION * each.weight for each in problem.occasions or [] if each.id in met),
    }
