"""A judge of its own, written from the rules apart from the project's: no solver, no numpy, weeks one by one."""

from __future__ import annotations

from itertools import combinations
from typing import Any

Plan = list[dict[str, Any]]


def lux(spot: dict[str, Any], week: int) -> float:
    return spot["lux"][week] if isinstance(spot["lux"], list) else spot["lux"]


def breaks(problem: dict[str, Any], plan: Plan) -> list[str]:
    """Return the names of the rules that a plan breaks."""
    weeks = problem.get("weeks") or 52
    spots = {each["id"]: each for each in problem["spots"]}
    things = {each["id"]: each for each in problem["things"]}
    fixed = problem.get("fixed") or []
    bad = ["fixed" for each in fixed if each not in plan]
    changes = problem.get("change_weeks")
    allowed = set(range(weeks + 1)) if changes is None else {0, weeks, *changes}
    for each in plan:
        thing, spot = things[each["thing"]], spots[each["spot"]]
        first, end = each["from_week"], each["from_week"] + each["weeks"]
        if first < 0 or end > weeks:
            bad.append("weeks")
            continue
        if thing["width_mm"] > spot["width_mm"] or thing["height_mm"] > spot["height_mm"]:
            bad.append("size")
        if spot["id"] in (thing.get("barred_spots") or []):
            bad.append("barred")
        ceiling = thing.get("lux_ceiling")
        if ceiling is not None and any(lux(spot, week) > ceiling for week in range(first, end)):
            bad.append("ceiling")
        if each not in fixed:
            if not thing.get("min_weeks", 2) <= each["weeks"] <= thing.get("max_weeks", 13):
                bad.append("length")
            if first < thing.get("not_before_week", 0):
                bad.append("not before")
            if first not in allowed or end not in allowed:
                bad.append("change weeks")
    for spot in spots.values():
        for week in range(weeks):
            up = [p for p in plan if p["spot"] == spot["id"] and p["from_week"] <= week < p["from_week"] + p["weeks"]]
            if len(up) > spot.get("capacity", 1):
                bad.append("capacity")
    for thing in things.values():
        own = [each for each in plan if each["thing"] == thing["id"]]
        for one, other in combinations(own, 2):
            early, late = sorted((one, other), key=lambda each: each["from_week"])
            if late["from_week"] - (early["from_week"] + early["weeks"]) < max(1, thing.get("rest_weeks", 13)):
                bad.append("rest")
        limit = thing.get("annual_limit_lxh")
        dose = sum(
            lux(spots[each["spot"]], week) * spots[each["spot"]]["hours_per_day"] * 7
            for each in own
            for week in range(each["from_week"], each["from_week"] + each["weeks"])
        )
        if limit is not None and own and dose > limit - thing.get("used_lxh", 0) + 1e-6 * max(1, limit):
            bad.append("dose")
    return bad


def points(problem: dict[str, Any], plan: Plan) -> int:
    """Return what a plan scores."""
    value = {each["id"]: each["value"] for each in problem["things"]}
    total = sum(each["weeks"] * (10 + value[each["thing"]]) - 15 for each in plan)
    total += sum(10 * value[name] for name in {each["thing"] for each in plan})
    for occasion in problem.get("occasions") or []:
        week = occasion["week"]
        if any(
            each["thing"] in occasion["things"] and each["from_week"] <= week < each["from_week"] + each["weeks"]
            for each in plan
        ):
            total += 100 * occasion["weight"]
    return total


def best_by_trying_all(problem: dict[str, Any]) -> int:
    """Return the best score of any legal plan by going through all of them; for tiny problems."""
    weeks = problem.get("weeks") or 52
    fixed = problem.get("fixed") or []
    possible = [
        {"thing": thing["id"], "spot": spot["id"], "from_week": first, "weeks": length}
        for thing in problem["things"]
        for spot in problem["spots"]
        for first in range(weeks)
        for length in range(1, weeks - first + 1)
    ]
    possible = [each for each in possible if each not in fixed and not breaks(problem, [*fixed, each])]
    best = points(problem, fixed)

    def deeper(plan: Plan, start: int) -> None:
        nonlocal best
        best = max(best, points(problem, plan))
        for at in range(start, len(possible)):
            wider = [*plan, possible[at]]
            if not breaks(problem, wider):
                deeper(wider, at + 1)

    deeper(list(fixed), 0)
    return best
