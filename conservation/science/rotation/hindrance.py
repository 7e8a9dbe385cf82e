"""What stands in the way of a thing: why it can have no showing at all, or none in a week, even if it were alone."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from conservation.science.rotation.judge import Showing, budget_of, dose_of, fixed_showings, within
from conservation.science.rotation.problem import Input, Spot, Thing, gap_weeks, least_weeks, lux_in, most_weeks


@dataclass(frozen=True)
class Hindrance:
    """Why a thing can have no showing, by a code of the page's words, and the numbers of it.

    ``no-spots``, ``size``, ``barred``; ``weeks`` too few are left, ``days`` of change do not allow one; ``lux`` every
    spot too bright always, ``lux-long`` too bright for part of any showing; ``spent`` more light had than allowed,
    ``light`` too little left; ``settled`` what is settled leaves neither room nor rest.
    """

    code: str
    numbers: dict[str, float] = field(default_factory=dict)


def hindrance(problem: Input, thing: Thing, week: int | None = None) -> Hindrance | None:
    """Return the first rule that leaves a thing no showing (none with a week in it); None where it could have one."""
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
    weeks, first, least = problem.weeks or 52, thing.not_before_week or 0, least_weeks(thing)
    if least > weeks - first or (week is not None and week < first):
        return Hindrance("weeks", {"weeks": least, "left": max(0, weeks - first), "first": first})
    found = [Showing(thing.id, s.id, a, b - a) for s in allowed for a, b in _shortest(problem, thing, week)]
    if not found:
        return Hindrance("days", {"weeks": least, "most": most_weeks(thing)})
    return _by_light(problem, thing, allowed, found)


def _shortest(problem: Input, thing: Thing, week: int | None) -> Iterable[tuple[int, int]]:
    """Yield for each week in which a thing may go up the earliest in which it may come down; longer costs no less."""
    weeks = problem.weeks or 52
    days = sorted(range(weeks + 1) if problem.change_weeks is None else {0, weeks, *problem.change_weeks})
    for start in days:
        end = max(start + least_weeks(thing), 0 if week is None else week + 1)
        at = bisect_left(days, end)
        if start < (thing.not_before_week or 0) or at == len(days) or (week is not None and start > week):
            continue
        if days[at] <= start + most_weeks(thing):
            yield start, days[at]


def _by_light(problem: Input, thing: Thing, allowed: list[Spot], found: list[Showing]) -> Hindrance | None:
    spots = {spot.id: spot for spot in problem.spots}
    ceiling, least = thing.lux_ceiling, least_weeks(thing)
    if ceiling is not None:
        dimmest = min(lux_in(spot, each) for spot in allowed for each in range(problem.weeks or 52))
        if dimmest > ceiling:
            return Hindrance("lux", {"lux": dimmest, "ceiling": ceiling})
        lux = {spot.id: [lux_in(spot, each) for each in range(problem.weeks or 52)] for spot in allowed}
        found = [one for one in found if max(lux[one.spot][one.from_week : one.end]) <= ceiling]
        if not found:
            return Hindrance("lux-long", {"ceiling": ceiling, "weeks": least})
    budget = budget_of(thing)
    if budget is not None and budget < 0 and not within(0, budget):
        return Hindrance("spent", {"over": -budget})
    if budget is not None:
        cheapest = min(found, key=lambda one: dose_of(spots[one.spot], one))
        cost = dose_of(spots[cheapest.spot], cheapest)
        if not within(cost, budget):
            return Hindrance("light", {"left": max(budget, 0.0), "cost": cost, "weeks": cheapest.weeks})
    return None if _beside_settled(problem, thing, spots, budget, found) else Hindrance("settled")


def _beside_settled(
    problem: Input, thing: Thing, spots: dict[str, Spot], budget: float | None, found: list[Showing]
) -> bool:
    """Say whether one of some showings goes with what is settled: room, rest and light."""
    settled = fixed_showings(problem)
    own, apart = [each for each in settled if each.thing == thing.id], gap_weeks(thing)
    had = sum(dose_of(spots[each.spot], each) for each in own)
    up = Counter((each.spot, week) for each in settled for week in range(each.from_week, each.end))
    return any(
        all(up[one.spot, week] < (spots[one.spot].capacity or 1) for week in range(one.from_week, one.end))
        and all(one.from_week >= each.end + apart or each.from_week >= one.end + apart for each in own)
        and (budget is None or within(had + dose_of(spots[one.spot], one), budget))
        for one in found
    )
