"""A plan changed by hand: which rule a showing would break, in a sentence with its number, and what would be legal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from archive.preferences.units import lengths
from archive.things.models import Thing
from conservation.on_show.models import PlannedShowing, Spot
from conservation.on_show.plans.assess import COPY, shown
from conservation.on_show.plans.assess_answer import View
from conservation.science.rotation import Input
from conservation.science.rotation import Showing as Shown
from conservation.science.rotation.by_hand import broken_by, longest_legal
from conservation.science.rotation.judge import Clash, budget_of, dose_of
from conservation.science.rotation.problem import gap_weeks, least_weeks, most_weeks
from conservation.science.words import word


@dataclass(frozen=True)
class Broken:
    """A rule that showings break, in a sentence with its number, and the longest showing that would be legal."""

    rule: str
    say: str
    instead: str = ""
    showing: str = ""  # address of the planned showing
    legal: Shown | None = None


def say(view: View, clash: Clash) -> str:
    """Return a broken rule as a sentence with names and numbers."""
    one = clash.showings[-1]
    entry = next(each for each in view.problem.things if each.id == one.thing)
    spot = next(each for each in view.problem.spots if each.id == one.spot)
    factor = view.factor(one.thing)
    lux = spot.lux if isinstance(spot.lux, list) else [spot.lux] * (view.problem.weeks or 52)
    budget = budget_of(entry)
    own = [each for each in clash.showings if each.thing == one.thing]
    spots = {each.id: each for each in view.problem.spots}
    values = {
        "thing": view.thing(one.thing),
        "spot": view.spot(one.spot),
        "weeks": f"{one.weeks}",
        "least": f"{least_weeks(entry)}",
        "most": f"{most_weeks(entry)}",
        "size": lengths([entry.width_mm, entry.height_mm], inch=view.inch),
        "room": lengths([spot.width_mm, spot.height_mm], inch=view.inch),
        "lux": f"{max(lux[one.from_week : one.end], default=0) * factor:,.0f}",
        "ceiling": f"{(entry.lux_ceiling or 0) * factor:,.0f}",
        "capacity": f"{spot.capacity or 1}",
        "others": " and ".join(view.thing(each.thing) for each in clash.showings if each != one) or "another thing",
        "rest": f"{gap_weeks(entry)}",
        "rests": f"{own[-1].from_week - own[0].end if len(own) > 1 else 0}",
        "dose": f"{sum(dose_of(spots[each.spot], each) for each in own) * factor:,.0f}",
        "left": f"{max(0.0, budget or 0) * factor:,.0f}",
        "day": view.day_words(entry.not_before_week or 0),
    }
    return word("plan_rule", clash.rule).format(**values)


def check_by_hand(view: View, one: Shown, but: PlannedShowing | None) -> list[Broken]:
    """Return the rules that a showing would break beside the rest of the plan, each with the longest legal one.

    What has happened is settled; every other showing, pinned or not, keeps all rules. ``but`` is the showing that the
    new one takes the place of.
    """
    problem = without_pins(view)
    before = shown(but) if but is not None else None
    others = [each for each in view.plan_now if each != before]
    broken = broken_by(problem, others, one)
    if not broken:
        return []
    legal = longest_legal(problem, others, one.thing, one.spot, one.from_week)
    legal = legal or longest_legal(problem, others, one.thing, one.spot)
    words = _legal_words(view, legal)
    first = {each.rule: each for each in reversed(broken)}  # of several the earliest says enough
    return [Broken(rule, say(view, each), words, legal=legal) for rule, each in reversed(first.items())]


def _legal_words(view: View, legal: Shown | None) -> str:
    if legal is None:
        return word("plan_legal", "none")
    values = {"weeks": legal.weeks, "from_day": view.day_words(legal.from_week), "to_day": view.day_words(legal.end)}
    return word("plan_legal", "longest").format(**values)


def without_pins(view: View) -> Input:
    """Return the problem with only what has happened settled, so that pinned showings are judged like the rest."""
    known = view.asked.about.get("fixed", [])
    fixed = [each for each, row in zip(view.problem.fixed or [], known, strict=False) if row.get("showing")]
    return view.problem.model_copy(update={"fixed": fixed})


def pins_in_the_way(view: View, against: Sequence[Clash]) -> list[Broken]:
    """Return why pinned showings let no plan be worked out: rule, number, and the longest legal in their place."""
    by_shown = {shown(each): each for each in view.rows if each.pinned and each.showing is None}
    problem = without_pins(view)
    fixed = [Shown(each.thing, each.spot, each.from_week, each.weeks) for each in view.problem.fixed or []]
    found = []
    for clash in against:
        pin = next((each for each in reversed(clash.showings) if each in by_shown), None)
        if pin is None:
            found.append(Broken(clash.rule, say(view, clash)))
            continue
        others = [each for each in fixed if each != pin]
        legal = longest_legal(problem, others, pin.thing, pin.spot, pin.from_week)
        legal = legal or longest_legal(problem, others, pin.thing, pin.spot)
        ordered = Clash(clash.rule, clash.say, (*[each for each in clash.showings if each != pin], pin))
        found.append(Broken(clash.rule, say(view, ordered), _legal_words(view, legal), by_shown[pin].public_id, legal))
    return found


def one_of(thing: Thing, is_copy: bool, spot: Spot, week: int, weeks: int) -> Shown:
    """Return a showing as the sum knows it, of a thing or of its copy."""
    return Shown(thing.public_id + (COPY if is_copy else ""), spot.public_id, week, weeks)


def why_not_in(is_copy: bool) -> str:
    """Return why a thing that a plan does not know cannot be put into it by hand."""
    return word("plan_outside", "unknown-copy" if is_copy else "unknown")
