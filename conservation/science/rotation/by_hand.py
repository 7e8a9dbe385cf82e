"""A plan changed by hand: what one showing would break, the longest that would be legal, and what stands in the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from conservation.science.rotation.judge import (
    A_CHANGE,
    A_WEEK,
    OCCASION,
    VARIETY,
    Clash,
    Showing,
    budget_of,
    clashes,
    met_occasions,
    within,
)
from conservation.science.rotation.problem import Input, least_weeks, most_weeks, weekly_dose


@dataclass(frozen=True)
class Hindrance:
    """Why a thing can have no showing at all, by a code of the page's words, and the numbers of it."""

    code: str  # no-spots, size, barred, lux, light, weeks
    numbers: dict[str, float] = field(default_factory=dict)


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


def hindrance(problem: Input, thing_id: str) -> Hindrance | None:
    """Return what keeps a thing from any showing even if it were alone: which size or limit would have to change."""
    thing = next(each for each in problem.things if each.id == thing_id)
    if not problem.spots:
        return Hindrance("no-spots")
    fits = [s for s in problem.spots if thing.width_mm <= s.width_mm and thing.height_mm <= s.height_mm]
    if not fits:
        largest = max(problem.spots, key=lambda s: s.width_mm * s.height_mm)
        sides = {"width": thing.width_mm, "height": thing.height_mm}
        return Hindrance("size", {**sides, "spot_width": largest.width_mm, "spot_height": largest.height_mm})
    allowed = [spot for spot in fits if spot.id not in (thing.barred_spots or [])]
    if not allowed:
        return Hindrance("barred", {"spots": len(fits)})
    weeks = problem.weeks or 52
    ceiling = thing.lux_ceiling
    lux = {s.id: s.lux if isinstance(s.lux, list) else [s.lux] * weeks for s in allowed}
    dim = [s for s in allowed if ceiling is None or any(each <= ceiling for each in lux[s.id])]
    if not dim:
        return Hindrance("lux", {"lux": min(min(each) for each in lux.values()), "ceiling": float(ceiling or 0)})
    budget, least = budget_of(thing), least_weeks(thing)
    if budget is not None:
        cheapest = min(sum(sorted(weekly_dose(spot, week) for week in range(weeks))[:least]) for spot in dim)
        if not within(cheapest, budget):
            return Hindrance("light", {"left": max(budget, 0.0), "cost": cheapest, "weeks": least})
    if least > weeks - (thing.not_before_week or 0):
        return Hindrance("weeks", {"weeks": least, "left": max(0, weeks - (thing.not_before_week or 0))})
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
