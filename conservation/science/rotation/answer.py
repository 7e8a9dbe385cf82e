"""Why an occasion is missed and a thing is not shown, in words."""

from __future__ import annotations

from conservation.science.rotation.judge import Showing, budget_of, met_occasions, within
from conservation.science.rotation.problem import Input, Spot, Thing, least_weeks, lux_in, weekly_dose


def gap_pct(score: int | None, bound: int | None) -> float | None:
    """Return 100 × (bound − score) / score; 0 when both are equal, None when the score is 0 or below."""
    if score is None or bound is None:
        return None
    if score == bound:
        return 0.0
    return 100 * (bound - score) / score if score > 0 else None


def missed(problem: Input, plan: list[Showing]) -> list[dict[str, str]]:
    """Return the occasions in whose week none of their things is up, each with the reason."""
    met = met_occasions(problem, plan)
    found = []
    for occasion in problem.occasions or []:
        if occasion.id in met:
            continue
        own = [thing for thing in problem.things if thing.id in occasion.things]
        reasons = [reason for thing in own if (reason := alone_impossible(problem, thing, occasion.week))]
        if not own:
            why = "Nothing belongs to it."
        elif len(reasons) == len(own):
            why = " ".join(dict.fromkeys(reasons))
        else:
            why = "Its things could be up then; other showings are worth more, or light, rest or room is used up."
        found.append({"id": occasion.id, "why": why})
    return found


def unused(problem: Input, plan: list[Showing]) -> list[dict[str, str]]:
    """Return the things that are not shown at all, each with the reason."""
    shown = {each.thing for each in plan}
    found = []
    for thing in problem.things:
        if thing.id not in shown:
            why = alone_impossible(problem, thing, None)
            found.append({"id": thing.id, "why": why or "Room is worth more with other things."})
    return found


def alone_impossible(problem: Input, thing: Thing, week: int | None) -> str:
    """Return why a thing can have no showing at all (or none in a week) even if it were alone, or nothing."""
    fits = [s for s in problem.spots if thing.width_mm <= s.width_mm and thing.height_mm <= s.height_mm]
    if not fits:
        widest = max((spot.width_mm for spot in problem.spots), default=0)
        return (
            f"{thing.id}, {thing.width_mm:g} × {thing.height_mm:g} mm, is larger than every spot "
            f"(the widest is {widest:g} mm)."
        )
    allowed = [spot for spot in fits if spot.id not in (thing.barred_spots or [])]
    if not allowed:
        return f"{thing.id} is barred from every spot that it fits."
    dim = [spot for spot in allowed if _dim_enough(problem, spot, thing, week)]
    if not dim:
        return f"Every spot that {thing.id} fits is brighter than its {thing.lux_ceiling:g} lx."
    budget = budget_of(thing)
    least = least_weeks(thing)
    weeks = problem.weeks or 52
    if budget is not None:
        cheapest = min(sum(sorted(weekly_dose(spot, each) for each in range(weeks))[:least]) for spot in dim)
        if not within(cheapest, budget):
            left = f"{max(budget, 0):g} lux hours left"
            return f"{thing.id} has {left}; {least} weeks at the dimmest spot cost {cheapest:g}."
    if least > weeks - (thing.not_before_week or 0):
        return f"{thing.id} needs {least} weeks, and fewer are left after week {thing.not_before_week or 0}."
    if week is not None and week < (thing.not_before_week or 0):
        return f"{thing.id} cannot go up before week {thing.not_before_week}."
    return ""


def _dim_enough(problem: Input, spot: Spot, thing: Thing, week: int | None) -> bool:
    if thing.lux_ceiling is None:
        return True
    weeks = range(problem.weeks or 52) if week is None else [week]
    return any(lux_in(spot, each) <= thing.lux_ceiling for each in weeks)
