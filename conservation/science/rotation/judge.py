"""Judges a display plan by the rules, one by one and without a solver: what a plan breaks, and what it scores."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from conservation.science.figures import figures
from conservation.science.rotation.problem import (
    Input,
    Spot,
    Thing,
    gap_weeks,
    least_weeks,
    lux_in,
    most_weeks,
    weekly_dose,
)

_F = figures("rotation")
A_WEEK, A_CHANGE = int(_F.value("points_a_week")), int(_F.value("points_a_change"))
VARIETY, OCCASION = int(_F.value("points_for_variety")), int(_F.value("points_for_an_occasion"))
# Doses are sums of many products; two that are equal by hand may differ in the last bits.
SLACK = 1e-9


@dataclass(frozen=True, order=True)
class Showing:
    """One thing at one spot for whole weeks."""

    thing: str
    spot: str
    from_week: int
    weeks: int

    @property
    def end(self) -> int:
        """The first week in which it is down again."""
        return self.from_week + self.weeks


@dataclass(frozen=True)
class Clash:
    """A rule that some showings break together, in a sentence."""

    rule: str
    say: str
    showings: tuple[Showing, ...]


def fixed_showings(problem: Input) -> list[Showing]:
    """Return the settled showings of a problem."""
    return [Showing(each.thing, each.spot, each.from_week, each.weeks) for each in problem.fixed or []]


def within(dose: float, budget: float) -> bool:
    """Say whether a dose keeps within a budget, both in lux hours."""
    return dose <= budget + SLACK * max(1.0, abs(budget))


def budget_of(thing: Thing) -> float | None:
    """Return the lux hours that a thing may still get, None without a limit."""
    if thing.annual_limit_lxh is None:
        return None
    return thing.annual_limit_lxh - (thing.used_lxh or 0)


def dose_of(spot: Spot, showing: Showing) -> float:
    """Return the lux hours of one showing."""
    return sum(weekly_dose(spot, week) for week in range(showing.from_week, showing.end))


def clashes(problem: Input, plan: Sequence[Showing]) -> list[Clash]:
    """Return every rule that a plan breaks; settled showings are exempt from some rules, others from none."""
    weeks = problem.weeks or 52
    spots = {spot.id: spot for spot in problem.spots}
    things = {thing.id: thing for thing in problem.things}
    settled = set(fixed_showings(problem))
    changes = None if problem.change_weeks is None else {0, weeks, *problem.change_weeks}
    found: list[Clash] = []

    def add(rule: str, say: str, *showings: Showing) -> None:
        found.append(Clash(rule, say, showings))

    for each in plan:
        spot, thing = spots[each.spot], things[each.thing]
        if each.from_week < 0 or each.end > weeks or each.weeks < 1:
            add("weeks", f"{each.thing} is up from week {each.from_week} to {each.end}; there are {weeks} weeks", each)
            continue
        if thing.width_mm > spot.width_mm or thing.height_mm > spot.height_mm:
            add(
                "size",
                f"{each.thing} is {thing.width_mm:g} × {thing.height_mm:g} mm and does not fit {each.spot}",
                each,
            )
        if each.spot in (thing.barred_spots or []):
            add("barred_spots", f"{each.thing} is barred from {each.spot}", each)
        brightest = max(lux_in(spot, week) for week in range(each.from_week, each.end))
        if thing.lux_ceiling is not None and brightest > thing.lux_ceiling:
            add(
                "lux_ceiling",
                f"{brightest:g} lx at {each.spot} is over the {thing.lux_ceiling:g} lx of {each.thing}",
                each,
            )
        if each in settled:
            continue
        if each.weeks < least_weeks(thing):
            add("min_weeks", f"{each.thing} is up for {each.weeks} weeks, fewer than {least_weeks(thing)}", each)
        if each.weeks > most_weeks(thing):
            add("max_weeks", f"{each.thing} is up for {each.weeks} weeks, more than {most_weeks(thing)}", each)
        if each.from_week < (thing.not_before_week or 0):
            add("not_before_week", f"{each.thing} goes up before week {thing.not_before_week}", each)
        if changes is not None and not {each.from_week, each.end} <= changes:
            add("change_weeks", f"{each.thing} goes up or comes down between the days of change", each)
    inside = [each for each in plan if each.from_week >= 0 and each.end <= weeks and each.weeks >= 1]
    found += _together(problem, inside, spots, things, weeks)
    return found


def _together(
    problem: Input, plan: list[Showing], spots: dict[str, Spot], things: dict[str, Thing], weeks: int
) -> list[Clash]:
    found = []
    for spot in problem.spots:
        here = [each for each in plan if each.spot == spot.id]
        capacity = spot.capacity or 1
        told: set[tuple[Showing, ...]] = set()
        for week in range(weeks):
            up = tuple(each for each in here if each.from_week <= week < each.end)
            if len(up) > capacity and up not in told:
                told.add(up)
                say = f"{spot.id} holds {capacity}, and {len(up)} would be there in week {week}"
                found.append(Clash("capacity", say, up))
    for thing in problem.things:
        own = sorted((each for each in plan if each.thing == thing.id), key=lambda each: each.from_week)
        for before, after in pairwise(own):
            if after.from_week - before.end < gap_weeks(thing):
                rest = after.from_week - before.end
                say = f"{thing.id} rests {rest} weeks between showings, fewer than {gap_weeks(thing)}"
                found.append(Clash("rest_weeks", say, (before, after)))
        budget = budget_of(thing)
        dose = sum(dose_of(spots[each.spot], each) for each in own)
        if budget is not None and own and not within(dose, budget):
            say = f"{thing.id} would get {dose:g} lux hours and has {budget:g} left"
            found.append(Clash("annual_limit_lxh", say, tuple(own)))
    return found


def met_occasions(problem: Input, plan: Sequence[Showing]) -> set[str]:
    """Return the occasions in whose week at least one of their things is up."""
    return {
        occasion.id
        for occasion in problem.occasions or []
        if any(each.thing in occasion.things and each.from_week <= occasion.week < each.end for each in plan)
    }


def score(problem: Input, plan: Sequence[Showing]) -> int:
    """Return the points of a plan."""
    value = {thing.id: thing.value for thing in problem.things}
    met = met_occasions(problem, plan)
    return (
        sum(each.weeks * (A_WEEK + value[each.thing]) - A_CHANGE for each in plan)
        + sum(VARIETY * value[thing] for thing in {each.thing for each in plan})
        + sum(OCCASION * occasion.weight for occasion in problem.occasions or [] if occasion.id in met)
    )
