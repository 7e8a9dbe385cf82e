"""Spots and things → the sums of light → what a spot's light is, and what a thing may have of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from django.utils import timezone

from archive.preferences.queries import preferences
from archive.preferences.units import lengths
from conservation.housing.assess import STOP_LEVELS, problem_of
from conservation.on_show.models import LuxReading, ShowPolicy, Spot, ThingLight
from conservation.on_show.spots.queries import own_light, policy
from conservation.reasons import Reason, reason, sources
from conservation.science import light, light_budget, spots
from conservation.science.housing import verdicts, work_out
from conservation.science.showing import COPY_STATES
from conservation.science.words import codes, word

NEVER_ON_SHOW = ("wet", "mould-active", "live-pest")


@dataclass(frozen=True)
class SpotLight:
    """The light of a spot: means over its lit hours and a year, and the ends of the band it may lie in.

    ``origin`` is ``readings``, ``partly`` (readings and estimate), ``estimate`` or ``nothing`` (a typical home).
    """

    lux: float
    low_lux: float
    high_lux: float
    hours_per_day: float
    uv_filtered: bool
    uv_uw_lm: float
    origin: str
    sources: tuple[Reason, ...]
    notes: tuple[str, ...]
    light: spots.Light

    def lux_for(self, responsivity: str) -> float:
        """Return the lux to reckon with: for the highly sensitive the upper end of the band, else the middle."""
        return self.high_lux if responsivity == "high" else self.lux

    def lux_on(self, day: date, responsivity: str = "") -> float:
        """Return the lux to reckon with on a day, the season in it."""
        return self.light.lux_on(day, upper=responsivity == "high")

    def weekly(self, start: date, weeks: int, responsivity: str = "") -> list[float]:
        """Return the mean lux over the lit hours of each of some weeks from ``start`` on, for the rotation sum."""
        return self.light.weekly(start, weeks, upper=responsivity == "high")

    def lxh_between(self, start: date, end: date, responsivity: str = "") -> float:
        """Return the lux hours from one day to another, at least one day's."""
        return self.light.lxh_between(start, end, upper=responsivity == "high")

    @property
    def is_seasonal(self) -> bool:
        """Whether daylight reaches it, so that its weeks differ."""
        return self.light.day.lux > 0

    @property
    def band_in_words(self) -> str:
        """Return the lux with its band, such as ``about 120 lux (40 to 360)``."""
        if self.lux <= 0:
            return "no light"
        return f"about {rounded(self.lux)} lux ({rounded(self.low_lux)} to {rounded(self.high_lux)})"


def rounded(value: float) -> str:
    """Return a figure to two significant digits, with thousands parted: nothing here is known better."""
    if value <= 0:
        return "0"
    step = 10 ** max(0, len(str(int(value))) - 2)
    return f"{round(value / step) * step:,}"


def place_of(spot: Spot, kept: ShowPolicy, southern: bool) -> spots.Place:
    """Return a spot as the sum of light reads it. The readings are those fetched with the spot, or asked for."""
    readings = tuple(
        spots.Reading(each.lux, timezone.localdate(each.taken_at), each.sky, each.by_what, each.uv_uw_lm)
        for each in spot.lux_readings.all()
    )
    return spots.Place(
        direction=spot.window_direction, distance=spot.window_distance, curtain=spot.curtain, sun=spot.sun_reaches,
        lamp=spot.lamp, lamp_hours=spot.lamp_hours, hours=spot.hours_per_day, glazing=spot.glazing,
        southern=southern, strict_uv=kept.strict_uv, readings=readings,
    )  # fmt: skip


def light_of_spot(spot: Spot, kept: ShowPolicy | None = None) -> SpotLight:
    """Return the light of a spot, from its readings where there are any, else estimated, and which it is.

    With ``prefetch_related("lux_readings")`` and the policy given it asks the database nothing but the preferences.
    """
    found = spots.light_of(place_of(spot, kept or policy(), preferences().southern))
    return SpotLight(
        found.lux, found.low, found.high, found.hours_per_day, found.uv_filtered, found.uv_uw_lm, found.origin,
        sources(found.citations), found.notes, found,
    )  # fmt: skip


@dataclass(frozen=True)
class ThingLimits:
    """What a thing may have of light, and how long it is shown at once.

    ``annual_limit_lxh`` is the stricter of the published limit and the fade policy; None where light does no harm.
    ``lux_ceiling`` is in lux. ``copy`` is ``required``, ``offered`` or nothing. Weeks have their reasons in ``why``.
    """

    responsivity: str
    blue_wools: tuple[int, ...]
    annual_limit_lxh: float | None
    published_lxh: float | None
    policy_lxh: float | None
    governed_by: str
    fade_lxh: float | None
    years_per_fade: int
    lux_ceiling: int | None
    shown_at_all: bool
    why_not: str
    copy: Literal["required", "offered", ""]
    min_weeks: int
    max_weeks: int
    rest_weeks: int
    uv_filtered: bool
    width_mm: float | None
    height_mm: float | None
    overridden: bool
    why: tuple[Reason, ...]


def limits_of_thing(
    thing: Any,
    own: ThingLight | None = None,
    kept: ShowPolicy | None = None,
    *,
    uv_filtered: bool = False,
    asked: bool = False,
) -> ThingLimits:
    """Return what a thing may have of light.

    ``own`` is what the keeper says of it; it is asked for unless ``asked`` says that it has been. The fade policy
    depends on UV, so that ``uv_filtered`` is that of the spot meant; without one, UV is taken to be there.
    """
    own = own if own is not None or asked else own_light([thing.pk]).get(thing.pk)
    kept = kept or policy()
    by_kind = light.of_thing(thing.kind_code, tuple(thing.parts), tuple(thing.states))
    found = light_budget.overridden(by_kind, own.blue_wool if own else None)
    years = (own.years_per_fade if own else None) or kept.years_per_fade
    budget = light_budget.budget(found, years, uv_filtered)
    weeks = light_budget.weeks_of(found.responsivity)
    why_not, why_not_reasons = _why_not(thing, by_kind, own)
    copy: Literal["required", "offered", ""] = ""
    if why_not:
        copy = "required"
    elif found.responsivity in ("medium", "high"):
        copy = "offered"
    least = (own.min_weeks if own else None) or weeks.least
    return ThingLimits(
        responsivity=found.responsivity, blue_wools=found.blue_wools, annual_limit_lxh=budget.annual_lxh,
        published_lxh=budget.published_lxh, policy_lxh=budget.policy_lxh, governed_by=budget.governed_by,
        fade_lxh=budget.fade_lxh, years_per_fade=years, lux_ceiling=found.lux_limit, shown_at_all=not why_not,
        why_not=why_not, copy=copy, min_weeks=least,
        max_weeks=max(least, (own.max_weeks if own else None) or weeks.most),
        rest_weeks=weeks.rest if own is None or own.rest_weeks is None else own.rest_weeks,
        uv_filtered=uv_filtered,
        width_mm=(own.width_mm if own else None) or thing.width_mm,
        height_mm=(own.height_mm if own else None) or thing.height_mm,
        overridden=own is not None and own.blue_wool is not None,
        why=(*why_not_reasons, *_why(found, own, years, weeks)),
    )  # fmt: skip


def _why_not(thing: Any, by_kind: light.Sensitivity, own: ThingLight | None) -> tuple[str, tuple[Reason, ...]]:
    """Return in a sentence why the original is not shown, and the reasons; nothing where it may be."""
    if own is not None and own.may_be_shown == "unfixed":
        words = "It was never fixed: light darkens it until the picture is gone."
        return words, (reason(words, light.unfixed_citation()),)
    if own is not None and own.may_be_shown != "plan":
        said = (
            "The keeper says that it is never shown"
            if own.may_be_shown == "never"
            else "The keeper says that only a copy is shown"
        )
        return f"{said}{f': {own.why}' if own.why else ''}.", (
            Reason(said + ".", "The keeper’s own judgement", "as you set it"),
        )
    ill = [code for code in NEVER_ON_SHOW if code in thing.states]
    stop = work_out(problem_of(thing))["stop"]
    if stop and stop["level"] in STOP_LEVELS:
        words = f"There is a hazard: {word('hazard', stop['hazard'])}. It is not shown until that is dealt with."
        return words, (Reason(stop["say"], "Kistbook, how to keep it", "our default"),)
    if ill:
        words = "It is wet, or something lives on it. First that."
        return words, (Reason(words, "Kistbook", "our default"),)
    if COPY_STATES & set(thing.states):
        words = "In the state it is in, putting it up would harm it: a copy until a conservator has seen it."
        return words, (Reason(words, "Kistbook, how to show it", "our default"),)
    if not by_kind.shown_at_all:
        words = "Light spoils it so fast that the original is not shown at all."
        return words, (reason(words, by_kind.citations[-1]),)
    return "", ()


def _weeks(number: int) -> str:
    return "1 week" if number == 1 else f"{number} weeks"


def _why(found: light.Sensitivity, own: ThingLight | None, years: int, weeks: light_budget.Weeks) -> tuple[Reason, ...]:
    reasons = []
    if own is not None and own.blue_wool is not None:
        reasons.append(
            Reason(
                f"Blue wool set to {own.blue_wool or 'none'}: {own.why}", "The keeper’s own judgement", "as you set it"
            )
        )
    what = {"none": "Light does it no harm that can be counted.", "low": "It fades slowly.",
            "medium": "It fades within a lifetime on a bright wall.", "high": "It fades fast."}  # fmt: skip
    reasons += [reason(what[found.responsivity], each) for each in found.citations]
    if found.blue_wools:
        first, _ = light_budget.series_citations()
        reasons.append(reason(f"One just noticeable fade is spread over {years} years.", first))
    for name, words in (("max_weeks", f"Shown for at most {_weeks(weeks.most)} at once."),
                        ("rest_weeks", f"Then it rests for {_weeks(weeks.rest)}.")):  # fmt: skip
        reasons.append(reason(words, weeks.citations[name]))
    return tuple(dict.fromkeys(reasons))


def limits_of_things(things: Sequence[Any], *, uv_filtered: bool = False) -> Mapping[int, ThingLimits]:
    """Return the limits of many things by id, by two queries in all."""
    own, kept = own_light([thing.pk for thing in things]), policy()
    return {
        thing.pk: limits_of_thing(thing, own.get(thing.pk), kept, uv_filtered=uv_filtered, asked=True)
        for thing in things
    }


def size_trouble(limits: ThingLimits, spot: Spot) -> str:
    """Return in a sentence that a thing is too large for a spot; nothing where it fits or a size is not known."""
    inch = preferences().units == "inch"
    for side, word_for in (("width_mm", "wide"), ("height_mm", "high")):
        is_there, thing = getattr(spot, side), getattr(limits, side)
        if is_there and thing and thing > is_there:
            its, room = lengths([thing], inch=inch), lengths([is_there], inch=inch)
            return f"It is too {word_for}: {its}, and “{spot}” has {room}."
    return ""


_FURNITURE = (
    "powder-coated-steel", "enamelled-steel", "aluminium", "oak", "hardwood", "softwood", "plywood",
    "mdf-or-chipboard", "melamine-wardrobe", "painted-wood-acrylic", "painted-wood-oil",
)  # fmt: skip


def choices(which: str) -> list[tuple[str, str]]:
    """Return codes and words of a list for a form; ``materials`` joins furniture and linings."""
    if which == "materials":
        wood = [(code, word("furniture", code)) for code in _FURNITURE]
        return [*wood, *((f"lining-{code}", words) for code, words in choices("spot_lining"))]
    return [(code, word(which, code)) for code in codes(which)]


@dataclass(frozen=True)
class Said:
    """A verdict on what is near a spot or what it is made of: good, fair or poor; why, and what mends it."""

    words: str
    verdict: str
    why: Reason
    instead: str


def verdicts_of(spot: Spot) -> list[Said]:
    """Return what is to be said of what is near a spot and what it is made of, the worst first."""
    found = []
    for code in spot.near:
        row = spots.verdict_on("near", code)
        found.append(Said(word("spot_near", code), row.verdict, reason(row.why, row.citation), row.instead))
    for code in spot.materials:
        if code.startswith("lining-"):
            own = code.removeprefix("lining-")
            row = spots.verdict_on("lining", own)
            found.append(Said(word("spot_lining", own), row.verdict, reason(row.why, row.citation), row.instead))
        else:
            wood = verdicts()["furniture"][code]
            found.append(Said(word("furniture", code), wood.verdict, reason(wood.why, wood.citation), wood.instead))
    return sorted(found, key=lambda each: ("poor", "fair", "good").index(each.verdict))


@dataclass(frozen=True)
class Month:
    """A bar of the year's light at a spot: the month, its lux, and the bar in a drawing 300 wide and 90 high."""

    name: str
    lux: str
    x: float
    y: float
    height: float


def months_of(found: SpotLight, year: int) -> list[Month]:
    """Return the year's light month by month; nothing where no daylight reaches."""
    if not found.is_seasonal:
        return []
    lux = [found.lux_on(date(year, month, 15)) for month in range(1, 13)]
    top = max(lux) or 1.0
    return [
        Month(f"{date(year, n + 1, 1):%B}", rounded(each), 4 + n * 25, round(78 - 66 * each / top, 1),
              round(66 * each / top, 1))
        for n, each in enumerate(lux)
    ]  # fmt: skip


def words_of(which: str, code: str) -> str:
    """Return the words of a code of one of the lists of spots; nothing for an empty code."""
    return word(which, code) if code else ""


@dataclass(frozen=True)
class ReadLine:
    """A reading in words."""

    row: LuxReading
    lux: str
    sky: str
    device: str


def readings_of(spot: Spot) -> list[ReadLine]:
    """Return the readings of a spot, the latest first."""
    return [
        ReadLine(each, f"{each.lux:g}", words_of("spot_sky", each.sky), words_of("spot_device", each.by_what))
        for each in spot.lux_readings.all()
    ]


@dataclass(frozen=True)
class ClassHere:
    """How a class of things fares at a spot: days of its published year's light, and whether it is too bright."""

    name: str
    example: str
    days: str
    too_bright: bool


def classes_at(found: SpotLight) -> list[ClassHere]:
    """Return for each class how many days at a spot use up its published limit of a year."""
    rows = []
    for name, example in (("high", "colour photographs, felt-tip, newspaper, silk"),
                          ("medium", "letters, black-and-white photographs, costume"),
                          ("low", "oil paintings, wood, bone")):  # fmt: skip
        whole = light.by_class(name)  # type: ignore[arg-type]
        lux = found.lux_for(name)
        left = light_budget.days_left(whole.annual_limit_lxh, 0, lux, found.hours_per_day)
        days = "all year" if left is None or left >= light_budget.DAYS else f"{int(left)}"
        too_bright = whole.lux_limit is not None and lux > whole.lux_limit
        rows.append(ClassHere(name, example, days, too_bright))
    return rows


def phone_caution() -> Reason:
    """Return how far a phone's light meter errs."""
    return reason(
        "A phone’s light sensor is not made for measuring and may show half or double the truth. It still tells a dim "
        "wall from a bright one. A light meter for a few coins is better.",
        spots.figure("phone_band")[1],
    )
