"""Spots, things, days and what has happened → the problem of the `rotation` sum, with what the page must know of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import ceil
from typing import Any

from archive.access.models import Account
from archive.things.models import Thing
from conservation.on_show.models import DisplayPlan, PlannedShowing, Showing, Spot
from conservation.on_show.mounting.assess import made_for, ways_of
from conservation.on_show.occasions.assess import Occasion, occasions_between
from conservation.on_show.plans import queries
from conservation.on_show.plans.queries import Candidate
from conservation.on_show.spots.assess import SpotLight, ThingLimits, light_of_spot, limits_of_thing
from conservation.on_show.spots.queries import lxh_of, policy, used_lxh
from conservation.reasons import Reason, reason
from conservation.science.figures import figures
from conservation.science.problem import read_problem
from conservation.science.rotation import Input, clashes, work_out
from conservation.science.rotation import Showing as Shown
from conservation.science.rotation.days import begun_with, begun_with_citation, propose
from conservation.science.words import word

COPY = ":copy"  # ends the name of a thing's copy in a problem
# Families of things of which a print from a picture can stand in for the original; of a clock it cannot.
FLAT = ("photographs", "film", "paper", "paintings")
BUDGET_WEEKS = 52  # the year of light ends with the plan
_ANY_SIZE_MM = 100_000.0
_USUAL_VALUE = 3


@dataclass
class Asked:
    """A problem as the sum reads it, and beside it what the page must know to put the answer into words."""

    problem: dict[str, Any]
    about: dict[str, Any] = field(default_factory=dict)

    @property
    def stored(self) -> dict[str, Any]:
        """What is kept with the plan."""
        return {"input": self.problem, "about": self.about}

    @property
    def input(self) -> Input:
        """The problem checked, as the command line would."""
        return read_problem(Input, self.problem)


def asked_before(plan: DisplayPlan) -> Asked | None:
    """Return the problem that a plan was last worked out from; None before it has been."""
    kept = plan.problem
    return Asked(kept["input"], kept["about"]) if kept.get("input") else None


def entry_of(showing: PlannedShowing | Showing) -> str:
    """Return the name of a showing's thing, or of its copy, in a problem."""
    return showing.thing.public_id + (COPY if showing.is_copy else "")


def shown(planned: PlannedShowing) -> Shown:
    """Return a planned showing as the sum knows it."""
    return Shown(entry_of(planned), planned.spot.public_id, planned.from_week, planned.weeks)


# -- days of change ------------------------------------------------------------------------------------------


def days_between(plan: DisplayPlan, reader: Account | None) -> list[Occasion]:
    """Return the days that matter within a plan and that count."""
    last = queries.end_of(plan) - timedelta(days=1)
    return [each for each in occasions_between(reader, plan.starts_on, last) if each.counts]


def week_of(plan: DisplayPlan, day: date) -> int:
    """Return the week of a plan in which a day lies."""
    return (day - plan.starts_on).days // 7


def proposed_days(plan: DisplayPlan, found: Iterable[Occasion], kept: Sequence[int] = ()) -> list[int]:
    """Return days of change near the occasions that have things, as many as the keeper asked for.

    Days ``kept`` have passed already and stay; the others are spread over the weeks after them.
    """
    weighed = [(week_of(plan, each.day), each.weight) for each in found if each.things]
    passed = sorted(set(kept))
    if not passed:
        return propose(plan.weeks, plan.changeovers, weighed)
    left = max(1, round(plan.changeovers * (plan.weeks - passed[-1]) / plan.weeks))
    return sorted({*passed, *propose(plan.weeks, left + 1, weighed, passed[-1])})


# -- the problem ---------------------------------------------------------------------------------------------


def build(plan: DisplayPlan, reader: Account, today: date) -> Asked:
    """Return the problem of a plan as things stand; what has happened is settled, and what is pinned too.

    The count of queries is constant.
    """
    numbers = begun_with()
    end = queries.end_of(plan)
    found = days_between(plan, reader)
    rows = queries.showings_of(plan)
    pins = [each for each in rows if each.pinned and each.showing is None]
    past = queries.happened(plan.starts_on, end)
    of_days = {thing.pk for each in found for thing in each.things}
    must = {each.thing_id for each in pins} | {each.thing_id for each in past}
    chosen = queries.candidates(reader, of_days, must, plan.left_out, numbers["candidates"], end)
    kept = policy()
    spots = queries.spots_for(reader)
    lights = {spot.pk: light_of_spot(spot, kept) for spot in spots}
    been = {(each.thing_id, each.spot_id) for each in past} | {(each.thing_id, each.spot_id) for each in pins}
    builder = _Builder(plan, today, spots, lights, past, been)
    for each in chosen:
        uv = bool(spots) and all(light.uv_filtered for light in lights.values())
        limits = limits_of_thing(each.thing, each.own, kept, uv_filtered=uv, asked=True)
        builder.add(each, limits)
    builder.account(queries.last_down(builder.ids), queries.barred(builder.ids), used_lxh(builder.ids, *builder.year))
    builder.settle(pins)
    builder.meet(found, numbers["occasions"])
    return builder.asked(plan.seconds)


@dataclass
class _Entry:
    """A thing, or its copy, on the way into a problem."""

    thing: Thing
    limits: ThingLimits
    is_copy: bool
    value: int
    row: dict[str, Any]
    factor: float = 1.0


class _Builder:
    """Puts a problem together, step by step."""

    def __init__(
        self,
        plan: DisplayPlan,
        today: date,
        spots: list[Spot],
        lights: dict[int, SpotLight],
        past: list[Showing],
        been: set[tuple[int, int]],
    ) -> None:
        self.plan, self.today, self.spots = plan, today, spots
        self.been = been  # thing and spot: where things have hung or are pinned, whatever a place is made for
        self.end = queries.end_of(plan)
        self.first = self._first_free()
        self.year = (self.end - timedelta(weeks=BUDGET_WEEKS), max(today, plan.starts_on))
        self.middle = {spot.pk: lights[spot.pk].weekly(plan.starts_on, plan.weeks) for spot in spots}
        self.upper = {spot.pk: lights[spot.pk].weekly(plan.starts_on, plan.weeks, "high") for spot in spots}
        self.lights = lights
        self.past = [each for each in past if each.spot_id in self.middle]
        self.entries: dict[str, _Entry] = {}
        self.outside: list[list[str]] = []  # address of a thing, code of the page's words
        self.set_aside: list[list[str]] = []
        self.fixed: list[tuple[Shown, dict[str, str]]] = []
        self.occasions: list[dict[str, Any]] = []
        self.too_bright: dict[str, list[str]] = {}
        self.not_made_for: dict[str, list[str]] = {}

    def _first_free(self) -> int:
        """Return the first week of change that has not begun yet; things go up from then on."""
        now = queries.week_now(self.plan, self.today)
        return next((week for week in self._changes() if week >= now), self.plan.weeks)

    def _changes(self) -> list[int]:
        """Return the weeks at whose start things change; any week where none are named."""
        return sorted({0, *self.plan.change_weeks}) if self.plan.change_weeks else list(range(self.plan.weeks))

    @property
    def ids(self) -> list[int]:
        return sorted({each.thing.pk for each in self.entries.values()})

    def add(self, each: Candidate, limits: ThingLimits) -> None:
        """Take a thing in: its original, or its copy where the original must not be shown."""
        thing = each.thing
        copies = {showing.is_copy for showing in self.past if showing.thing_id == thing.pk}
        must_copy = limits.copy == "required"
        can_copy = each.has_picture and thing.kind.family in FLAT
        if must_copy and not can_copy and not copies:
            why = "no-picture" if thing.kind.family in FLAT else "no-copy"
            self.outside.append([thing.public_id, why, limits.why_not])
            return
        if can_copy:
            copies.add(True)  # offered: put up by hand only
        for is_copy in sorted({must_copy, *copies}):
            self._enter(each, limits, is_copy, may_go_up=is_copy == must_copy)

    def _enter(self, each: Candidate, limits: ThingLimits, is_copy: bool, may_go_up: bool) -> None:
        thing = each.thing
        usual = thing.kind.size_mm
        value = each.wish or thing.significance or _USUAL_VALUE
        row: dict[str, Any] = {
            "id": thing.public_id + (COPY if is_copy else ""),
            "width_mm": float(limits.width_mm or usual[0]),
            "height_mm": float(limits.height_mm or usual[1]),
            "annual_limit_lxh": None if is_copy else limits.annual_limit_lxh,
            "used_lxh": 0.0,
            "lux_ceiling": None if is_copy or limits.lux_ceiling is None else float(limits.lux_ceiling),
            "min_weeks": limits.min_weeks,
            "max_weeks": 52 if is_copy else limits.max_weeks,
            "rest_weeks": 1 if is_copy else limits.rest_weeks,
            "not_before_week": self.first if may_go_up else self.plan.weeks,
            "value": max(1, min(5, value)),
            "barred_spots": [],
        }
        self.entries[row["id"]] = _Entry(thing, limits, is_copy, row["value"], row)

    def account(self, last: dict[int, date], barred: dict[int, set[int]], used: dict[int, float]) -> None:
        """Set down what things have had: the spots they are barred from, their rest, the light of their year.

        The problem knows one lux for a spot. For the highly sensitive the upper end of the band counts: their limits
        are divided by the most by which it lies above the middle at any spot they could be at, so that no budget is
        passed. Spots that are over their limit by the upper end in every week are barred to them beforehand; and all
        things from spots that are made for another way of showing: no clock hangs on a wall meant for frames.
        """
        for entry in self.entries.values():
            row, thing = entry.row, entry.thing
            shut = set(barred.get(thing.pk, ()))
            if not entry.is_copy:
                ways = ways_of(thing)
                other = {s.pk for s in self.spots if (thing.pk, s.pk) not in self.been and not made_for(s, ways)} - shut
                self.not_made_for[row["id"]] = [spot.public_id for spot in self.spots if spot.pk in other]
                shut |= other
            if entry.limits.responsivity == "high" and not entry.is_copy:
                ceiling = entry.limits.lux_ceiling
                bright = {pk for pk, lux in self.upper.items() if ceiling is not None and min(lux) > ceiling} - shut
                self.too_bright[row["id"]] = [spot.public_id for spot in self.spots if spot.pk in bright]
                shut |= bright
                entry.factor = self._factor(shut)
            row["barred_spots"] = [spot.public_id for spot in self.spots if spot.pk in shut]
            if not entry.is_copy:
                row["used_lxh"] = used.get(thing.pk, 0.0) / entry.factor
                for name in ("annual_limit_lxh", "lux_ceiling"):
                    if row[name] is not None:
                        row[name] /= entry.factor
                if thing.pk in last:
                    rests_until = last[thing.pk] + timedelta(weeks=entry.limits.rest_weeks)
                    weeks = ceil((rests_until - self.plan.starts_on).days / 7)
                    row["not_before_week"] = min(self.plan.weeks, max(row["not_before_week"], weeks))

    def _factor(self, shut: set[int]) -> float:
        above = [
            high / middle
            for pk, upper in self.upper.items()
            if pk not in shut
            for middle, high in zip(self.middle[pk], upper, strict=True)
            if middle > 0
        ]
        return max([1.0, *above])

    def settle(self, pins: list[PlannedShowing]) -> None:
        """Settle what has happened, except what breaks a rule by itself: that cannot be undone, and is set aside."""
        for showing in self.past:
            name = entry_of(showing)
            if name in self.entries:
                planned = next((each for each in showing.planned.all() if each.plan_id == self.plan.pk), None)
                known = {"showing": showing.public_id, "planned": planned.public_id if planned else ""}
                self.fixed.append((self._as_it_happened(showing, planned), known))
        by_address = {showing.public_id: showing for showing in self.past}
        for shown_, known in self.fixed:
            self._give_back(shown_, by_address[known["showing"]])
        while against := clashes(self._input(), [each for each, _ in self.fixed]):
            broken = against[0].showings[-1]
            at = next(n for n, (each, _) in enumerate(self.fixed) if each == broken)
            self._give_back(broken, by_address[self.fixed[at][1]["showing"]], back=True)
            self.set_aside.append([broken.thing, broken.spot, against[0].rule])
            del self.fixed[at]
        for pin in pins:
            if entry_of(pin) in self.entries and pin.spot_id in self.middle:
                self.fixed.append((shown(pin), {"showing": "", "planned": pin.public_id}))

    def _as_it_happened(self, showing: Showing, planned: PlannedShowing | None) -> Shown:
        """Return a showing in whole weeks, each end at the nearest start of a week; what hangs stays as planned."""
        start = min(self.plan.weeks - 1, max(0, round((showing.went_up - self.plan.starts_on).days / 7)))
        if showing.came_down is not None:
            end = round((showing.came_down - self.plan.starts_on).days / 7)
        else:
            now = queries.week_now(self.plan, self.today)
            end = next((week for week in self._changes() if week > max(start, now - 1)), self.plan.weeks)
            if planned is not None:
                end = max(planned.from_week + planned.weeks, now)
        end = min(self.plan.weeks, max(start + 1, end))
        return Shown(entry_of(showing), showing.spot.public_id, start, end - start)

    def _give_back(self, one: Shown, showing: Showing, back: bool = False) -> None:
        """Take the light of a settled showing out of what was used, since the sum counts it; or put it back."""
        entry = self.entries[one.thing]
        light = lxh_of(showing, *self.year) / entry.factor
        entry.row["used_lxh"] = max(0.0, entry.row["used_lxh"] + (light if back else -light))

    def meet(self, found: list[Occasion], most: int) -> None:
        """Take in the days that can still be met, or are met by what has happened, the heaviest first."""
        by_thing: dict[int, list[str]] = {}
        for name, entry in self.entries.items():
            by_thing.setdefault(entry.thing.pk, []).append(name)
        settled = [each for each, _ in self.fixed]
        rows: list[dict[str, Any]] = []
        for each in found:
            week = week_of(self.plan, each.day)
            names = [name for thing in each.things for name in by_thing.get(thing.pk, ())]
            met = any(one.thing in names and one.from_week <= week < one.end for one in settled)
            if names and (week >= self.first or met):
                rows.append({"id": each.id, "week": week, "things": names, "weight": each.weight})
        rows.sort(key=lambda row: (-row["weight"], row["week"], row["id"]))
        self.occasions = rows[:most]

    def _problem(self) -> dict[str, Any]:
        past = [week for each, _ in self.fixed for week in (each.from_week, each.end) if week < self.first]
        return {
            "weeks": self.plan.weeks,
            "seed": 1,
            "change_weeks": sorted({*self.plan.change_weeks, *past}) if self.plan.change_weeks else None,
            "spots": [
                {
                    "id": spot.public_id,
                    "capacity": spot.capacity,
                    "width_mm": float(spot.width_mm or _ANY_SIZE_MM),
                    "height_mm": float(spot.height_mm or _ANY_SIZE_MM),
                    "lux": [round(lux, 2) for lux in self.middle[spot.pk]],
                    "hours_per_day": round(self.lights[spot.pk].hours_per_day, 3),
                    "uv_filtered": self.lights[spot.pk].uv_filtered,
                }
                for spot in self.spots
            ],
            "things": [entry.row for entry in self.entries.values()],
            "occasions": self.occasions,
            "fixed": [{**each.__dict__} for each, _ in self.fixed],
        }

    def _input(self) -> Input:
        return read_problem(Input, self._problem())

    def asked(self, seconds: int) -> Asked:
        """Return the whole problem and what the page must know of it."""
        return Asked(
            {**self._problem(), "limit_s": float(seconds)},
            {
                "made_on": self.today.isoformat(),
                "first_free": self.first,
                "fixed": [known for _, known in self.fixed],
                "factors": {name: each.factor for name, each in self.entries.items() if each.factor > 1},
                "too_bright": {name: spots for name, spots in self.too_bright.items() if spots},
                "not_made_for": {name: spots for name, spots in self.not_made_for.items() if spots},
                "estimates": [s.public_id for s in self.spots if self.lights[s.pk].origin != "readings"],
                "no_size": [spot.public_id for spot in self.spots if not spot.width_mm or not spot.height_mm],
                "kind_size": [
                    name for name, each in self.entries.items() if not (each.limits.width_mm and each.limits.height_mm)
                ],
                "outside": self.outside,
                "set_aside": self.set_aside,
            },
        )


def pinned_clashes(asked: Asked) -> list[Any]:
    """Return the rules that pinned showings break, so that no plan can be worked out."""
    problem = asked.input
    return clashes(problem, [Shown(each.thing, each.spot, each.from_week, each.weeks) for each in problem.fixed or []])


def refused(asked: Asked) -> dict[str, Any]:
    """Return the answer to a problem whose settled showings clash, as the sum gives it."""
    return work_out(asked.input)


def thought_of(plan: DisplayPlan, reader: Account) -> list[Candidate]:
    """Return the things that a plan may show, those left out among them."""
    found = days_between(plan, reader)
    of_days = {thing.pk for each in found for thing in each.things}
    end = queries.end_of(plan)
    must = {each.thing_id for each in queries.happened(plan.starts_on, end)}
    return queries.candidates(reader, of_days, must, (), begun_with()["candidates"], end)


def begun() -> dict[str, int]:
    """Return the numbers with which a plan is begun."""
    numbers = begun_with()
    return {"weeks": BUDGET_WEEKS, "changeovers": numbers["changeovers"], "seconds": numbers["seconds"]}


def score_why() -> Reason:
    """Return how a plan is scored, and who says so."""
    return reason(word("plan_why", "score"), figures("rotation").cite("points_a_week")[0])


def numbers_why() -> Reason:
    """Return who says how a plan is begun."""
    return reason(word("plan_why", "numbers"), begun_with_citation())
