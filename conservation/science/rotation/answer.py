"""Why an occasion is missed and a thing is not shown, in words."""

from __future__ import annotations

from conservation.science.rotation.hindrance import Hindrance, hindrance
from conservation.science.rotation.judge import Showing, met_occasions
from conservation.science.rotation.problem import Input, Thing


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
        reasons = [why for thing in own if (why := in_words(thing, hindrance(problem, thing, occasion.week)))]
        if not own:
            why = "Nothing belongs to it."
        elif len(reasons) == len(own):
            why = f"For week {occasion.week}: {' '.join(dict.fromkeys(reasons))}"
        else:
            why = "One of its things could be up then; in this plan room, rest or light went to other showings."
        found.append({"id": occasion.id, "why": why})
    return found


def unused(problem: Input, plan: list[Showing]) -> list[dict[str, str]]:
    """Return the things that are not shown at all, each with the reason."""
    shown = {each.thing for each in plan}
    return [
        {
            "id": thing.id,
            "why": in_words(thing, hindrance(problem, thing))
            or "It could be up; in this plan the room went to other showings, which count for more.",
        }
        for thing in problem.things
        if thing.id not in shown
    ]


_WORDS = {
    "no-spots": "There is no spot.",
    "size": "{id}, {width} × {height} mm, is larger than every spot (the largest is {spot_width} × {spot_height} mm).",
    "barred": "{id} is barred from every spot that it fits.",
    "weeks": "{id} needs {weeks} and may go up from week {first} on; that is too late for it.",
    "days": "{id} is up for {weeks} at least and {most} at most; no two days of change are so far apart.",
    "lux": "Every spot that {id} fits is brighter than its {ceiling} lx (the dimmest has {lux}).",
    "lux-long": "No spot that {id} fits stays within its {ceiling} lx for {weeks}.",
    "spent": "{id} has had {over} lux hours more than its year allows.",
    "light": "{id} has {left} lux hours left; {weeks} where it is dimmest cost {cost}.",
    "settled": "Settled showings leave {id} no room, rest or light.",
}


def in_words(thing: Thing, found: Hindrance | None) -> str:
    """Return in a sentence what stands in the way of a thing; empty where nothing does."""
    if found is None:
        return ""
    numbers = {key: f"{value:g}" for key, value in found.numbers.items()}
    for key in {"weeks", "most"} & numbers.keys():
        numbers[key] += " week" if numbers[key] == "1" else " weeks"
    return _WORDS[found.code].format(id=thing.id, **numbers)
