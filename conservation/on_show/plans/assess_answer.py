"""A plan as it stands, judged and put into words: score and bound, days met and missed, things unused, light used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from archive.access.models import Account
from archive.preferences.units import lengths
from archive.things.models import Thing
from conservation.on_show.models import DisplayPlan, PlannedShowing, Spot
from conservation.on_show.occasions.assess import Occasion
from conservation.on_show.plans import queries
from conservation.on_show.plans.assess import COPY, Asked, days_between, shown
from conservation.science.rotation import Input, clashes, score
from conservation.science.rotation import Showing as Shown
from conservation.science.rotation.answer import gap_pct
from conservation.science.rotation.by_hand import score_parts
from conservation.science.rotation.hindrance import hindrance
from conservation.science.rotation.judge import Clash, dose_of, met_occasions
from conservation.science.words import word


@dataclass(frozen=True)
class Dose:
    """The light of a thing in the plan's year against its budget, in lux hours; the bar is drawn on 100 units."""

    thing: Thing
    used: float
    planned: float
    limit: float | None
    upper: bool  # reckoned at the upper end of the band

    @property
    def bar_used(self) -> float:
        return round(min(100.0, 100 * self.used / self.limit), 1) if self.limit else 0.0

    @property
    def bar_planned(self) -> float:
        return round(min(100.0 - self.bar_used, 100 * self.planned / self.limit), 1) if self.limit else 0.0

    @property
    def share(self) -> float:
        return 100 * (self.used + self.planned) / self.limit if self.limit else 0.0


@dataclass(frozen=True)
class Missed:
    """An occasion that the plan does not meet, or a thing that it does not show, and why."""

    title: str
    url: str
    why: str
    help: str = ""
    day: date | None = None
    public_id: str = ""


@dataclass
class View:
    """Everything a page needs to speak of a plan."""

    plan: DisplayPlan
    asked: Asked
    problem: Input
    rows: list[PlannedShowing]
    things: Mapping[str, Thing]
    spots: Mapping[str, Spot]
    occasions: Mapping[str, Occasion]
    inch: bool = False
    plan_now: list[Shown] = field(default_factory=list)
    offered: frozenset[str] = frozenset()  # copies that the sum may not put up, though a hand may

    def thing(self, name: str) -> str:
        """Return a thing's title by its name in the problem; of a copy that it is one."""
        thing = self.things.get(name.removesuffix(COPY))
        title = f"“{thing.title}”" if thing else "a thing that is no longer there"
        return f"the copy of {title}" if name.endswith(COPY) else title

    def spot(self, name: str) -> str:
        """Return a spot's title by its name in the problem."""
        return f"“{self.spots[name].title}”" if name in self.spots else "a spot that is no longer there"

    def day(self, week: int) -> date:
        return queries.day_of(self.plan, week)

    def day_words(self, week: int) -> str:
        day = self.day(week)
        return f"{day.day} {day:%B %Y}"

    def factor(self, name: str) -> float:
        return float(self.asked.about.get("factors", {}).get(name, 1.0))


def view_of(plan: DisplayPlan, asked: Asked, reader: Account, *, inch: bool) -> View:
    """Return what a page needs of a plan and the problem it was worked out from; the count of queries is constant."""
    problem, offered = _with_copies(asked)
    rows = queries.showings_of(plan)
    names = {each.id.removesuffix(COPY) for each in problem.things} | {each.thing.public_id for each in rows}
    names |= {row[0] for row in asked.about.get("outside", [])}
    things = queries.things_by_address(names, reader)
    spots = queries.spots_by_address({each.id for each in problem.spots} | {each.spot.public_id for each in rows})
    days = {each.id: each for each in days_between(plan, reader)}
    known = {each.id for each in problem.things}
    here = {each.id for each in problem.spots}
    now = [one for one in map(shown, rows) if one.thing in known and one.spot in here]
    return View(plan, asked, problem, rows, things, spots, days, inch, now, offered)


def _with_copies(asked: Asked) -> tuple[Input, frozenset[str]]:
    """Return a problem in which copies may go up too, and which copies the sum was kept from putting up."""
    problem = asked.input
    weeks, first = problem.weeks or 52, int(asked.about.get("first_free", 0))
    offered = {each.id for each in problem.things if each.id.endswith(COPY) and (each.not_before_week or 0) >= weeks}
    things = [
        each.model_copy(update={"not_before_week": first}) if each.id in offered else each for each in problem.things
    ]
    return problem.model_copy(update={"things": things}), frozenset(offered)


# -- numbers -------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Standing:
    """The score of a plan as it stands beside what was found and what can be reached at most."""

    score: int
    bound: int | None
    found: int | None
    status: str
    gap_pct: float | None
    parts: dict[str, int]
    changed_by_hand: bool
    breaks: list[Clash]


def standing(view: View) -> Standing:
    """Return the score of a plan as it stands, with the proven bound of its answer."""
    answer = view.plan.answer or {}
    now = score(view.problem, view.plan_now)
    found, bound = answer.get("score"), answer.get("bound")
    told = {(each["thing"], each["spot"], each["from_week"], each["weeks"]) for each in answer.get("showings", [])}
    is_now = {(each.thing, each.spot, each.from_week, each.weeks) for each in view.plan_now}
    return Standing(
        now, bound, found, str(answer.get("status", "")), gap_pct(now, bound), score_parts(view.problem, view.plan_now),
        told != is_now, clashes(view.problem, view.plan_now),
    )  # fmt: skip


def doses(view: View) -> list[Dose]:
    """Return the light of every thing that is in the plan and has a budget, those nearest to it first."""
    spots = {each.id: each for each in view.problem.spots}
    found = []
    for entry in view.problem.things:
        own = [each for each in view.plan_now if each.thing == entry.id]
        thing = view.things.get(entry.id.removesuffix(COPY))
        if thing is None or not own:
            continue
        factor = view.factor(entry.id)
        limit = None if entry.annual_limit_lxh is None else entry.annual_limit_lxh * factor
        planned = sum(dose_of(spots[each.spot], each) for each in own) * factor
        if not entry.id.endswith(COPY):
            found.append(Dose(thing, (entry.used_lxh or 0) * factor, planned, limit, factor > 1))
    return sorted(found, key=lambda each: (-each.share, each.thing.serial_id))


def met_days(view: View) -> list[Occasion]:
    """Return the days that the plan meets, in order."""
    met = met_occasions(view.problem, view.plan_now)
    return sorted((view.occasions[each] for each in met if each in view.occasions), key=lambda each: each.day)


def missed_days(view: View) -> list[Missed]:
    """Return the days that the plan misses, each with the reason."""
    known = {each.id: each for each in view.problem.things}
    found = []
    for row in view.problem.occasions or []:
        day = view.occasions.get(row.id)
        if day is None or row.id in met_occasions(view.problem, view.plan_now):
            continue
        names = [name for name in row.things if name not in view.offered]
        reasons = [why for name in names if (why := _not_in(view, known[name], row.week))]
        whole = reasons and len(reasons) == len(names)
        why = " ".join(dict.fromkeys(reasons)) if whole else word("plan_way", "worth-less")
        copies = any(name in view.offered for name in row.things)
        found.append(Missed(day.title, day.url, why, word("plan_help", "copy") if copies else "", day=day.day))
    return sorted(found, key=lambda each: each.day or view.plan.starts_on)


def _not_in(view: View, entry: Any, week: int) -> str:
    """Return why a thing cannot be up in a week even if it were alone, or nothing."""
    why, _ = in_the_way(view, entry.id)
    if not why and week < (entry.not_before_week or 0):
        return word("plan_way", "rests").format(thing=view.thing(entry.id), day=view.day_words(entry.not_before_week))
    return why


def unused_things(view: View) -> list[Missed]:
    """Return the things that the plan does not show, each with the reason and what would help."""
    found = []
    up = {each.thing for each in view.plan_now}
    for entry in view.problem.things:
        if entry.id in up:
            continue
        thing = view.things.get(entry.id.removesuffix(COPY))
        if thing is None or entry.id in view.offered:
            continue
        why, help_ = in_the_way(view, entry.id)
        found.append(
            Missed(
                thing.title,
                thing.get_absolute_url(),
                why or word("plan_way", "no-room"),
                help_,
                public_id=thing.public_id,
            )
        )
    for address, code, why_not in view.asked.about.get("outside", []):
        if address in view.things:
            thing = view.things[address]
            why = word("plan_outside", code).format(why_not=why_not)
            found.append(Missed(thing.title, thing.get_absolute_url(), why, public_id=thing.public_id))
    return found


def in_the_way(view: View, name: str) -> tuple[str, str]:
    """Return what keeps a thing from any showing, in a sentence with its numbers, and what would help."""
    entry = next(each for each in view.problem.things if each.id == name)
    found = hindrance(view.problem, entry)
    if found is None:
        return "", ""
    numbers = dict(found.numbers)
    code = found.code
    factor = view.factor(name)
    if code in ("barred", "lux", "lux-long") and view.asked.about.get("too_bright", {}).get(name):
        code = "bright"
        numbers = {"ceiling": float(entry.lux_ceiling or 0)}
    if code == "barred" and view.asked.about.get("not_made_for", {}).get(name):
        code = "way"
    values = {
        key: f"{value * (factor if key in ('ceiling', 'left', 'cost', 'over') and code != 'weeks' else 1):,.0f}"
        for key, value in numbers.items()
    }
    if code == "size":
        values["size"] = lengths([numbers["width"], numbers["height"]], inch=view.inch)
        values["largest"] = lengths([numbers["spot_width"], numbers["spot_height"]], inch=view.inch)
    values["thing"] = view.thing(name)
    help_ = word("plan_help", code).format(**values)
    if code in ("lux", "lux-long", "bright", "light", "spent") and f"{name}{COPY}" in view.offered:
        help_ += " " + word("plan_help", "copy")
    return word("plan_way", code).format(**values), help_


def notes(view: View) -> list[str]:
    """Return what the page must say of a problem beside its answer: estimates, sizes not known, what was set aside."""
    about: dict[str, Any] = view.asked.about
    found = []
    for code in ("estimates", "no_size", "kind_size"):
        names = about.get(code, [])
        if names:
            words = ", ".join(view.spot(each) if code != "kind_size" else view.thing(each) for each in names[:6])
            more = f" and {len(names) - 6} more" if len(names) > 6 else ""
            found.append(word("plan_note", code).format(names=words + more))
    if about.get("factors"):
        found.append(word("plan_note", "upper"))
    for thing, spot, rule in about.get("set_aside", []):
        found.append(
            word("plan_note", "set-aside").format(
                thing=view.thing(thing), spot=view.spot(spot), rule=word("plan_rule_name", rule)
            )
        )
    return found
