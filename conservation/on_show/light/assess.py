"""A thing and its light: gauge, days left at each spot, the check before it is hung, its history, both series."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from archive.kinds import kind, state
from conservation.on_show.models import LightUse, Showing, ShowPolicy, Spot
from conservation.on_show.spots import queries
from conservation.on_show.spots.assess import (
    SpotLight,
    ThingLimits,
    light_of_spot,
    limits_of_thing,
    limits_of_things,
    rounded,
)
from conservation.reasons import Reason, reason, sources
from conservation.science import light, light_budget
from conservation.science.showing import mounts_of
from conservation.science.spots import takes
from conservation.science.words import word

YEAR = timedelta(days=365)
_WIDE = 300.0


def a_year(today: date) -> tuple[date, date]:
    """Return the year that a budget is reckoned over: the 365 days up to and with today; the end is not included."""
    end = today + timedelta(days=1)
    return end - YEAR, end


@dataclass(frozen=True)
class Gauge:
    """A year's light and what is gone of it, for a drawing 300 wide; figures in words to two digits."""

    limit: str
    used: str
    left: str
    share: str
    x_used: float
    over: bool


def gauge_of(limits: ThingLimits, used_lxh: float) -> Gauge | None:
    """Return the gauge of a thing's year; nothing where light does it no harm."""
    if limits.annual_limit_lxh is None:
        return None
    share = used_lxh / limits.annual_limit_lxh
    words = f"{share * 100:.0f} %" if share < 3 else f"{rounded(share)} years’ light"
    left = rounded(max(0.0, limits.annual_limit_lxh - used_lxh))
    return Gauge(
        rounded(limits.annual_limit_lxh), rounded(used_lxh), left, words, round(min(1.0, share) * _WIDE, 1), share > 1
    )


@dataclass(frozen=True)
class Check:
    """A thing at a spot, before it goes up: in words, how long it may stay, and whether that breaks a rule.

    ``days`` is how long the rest of its year's light lasts, None where that is longer than a year. ``longest`` is the
    longest showing within all rules of light, in days; 0 where there is none.
    """

    spot: Spot
    light: SpotLight
    limits: ThingLimits
    lux: float
    days: int | None
    longest: int
    too_bright: bool
    trouble: str
    words: tuple[str, ...]

    @property
    def breaks(self) -> bool:
        """Whether not even the shortest sensible showing is within the rules of light."""
        return self.longest < 1

    @property
    def days_words(self) -> str:
        """Return how long its light lasts here, such as ``16 days``."""
        if self.limits.annual_limit_lxh is None:
            return "no limit"
        return "all year" if self.days is None else days_in_words(self.days)


def days_in_words(days: int) -> str:
    """Return a number of days in words."""
    if days < 1:
        return "less than a day"
    if days < 60:
        return "1 day" if days == 1 else f"{days} days"
    return f"about {round(days / 7)} weeks"


def days_until_spent(found: SpotLight, limits: ThingLimits, left_lxh: float, start: date) -> int | None:
    """Return the whole days that lux hours last at a spot from a day on, the season in it; None: more than a year."""
    for day in range(YEAR.days):
        left_lxh -= found.lux_on(start + timedelta(days=day), limits.responsivity) * found.hours_per_day
        if left_lxh < -1e-6:
            return day
    return None


def check(
    thing: Any,
    spot: Spot,
    today: date,
    *,
    used_lxh: float | None = None,
    found: SpotLight | None = None,
    limits: ThingLimits | None = None,
    trouble: str = "",
) -> Check:
    """Return the light check of a thing at a spot, in words. What is not given is asked for."""
    found = found or light_of_spot(spot)
    limits = limits or limits_of_thing(thing, uv_filtered=found.uv_filtered)
    used = queries.used_lxh([thing.pk], *a_year(today))[thing.pk] if used_lxh is None else used_lxh
    lux = found.lux_for(limits.responsivity)
    if limits.annual_limit_lxh is None:
        days: int | None = None
    else:
        days = days_until_spent(found, limits, max(0.0, limits.annual_limit_lxh - used), today)
    too_bright = limits.lux_ceiling is not None and lux > limits.lux_ceiling
    most = limits.max_weeks * 7
    longest = 0 if too_bright or not limits.shown_at_all else most if days is None else min(days, most)
    return Check(
        spot, found, limits, lux, days, longest, too_bright, trouble,
        tuple(_words(found, limits, lux, days, used, longest, too_bright)),
    )  # fmt: skip


def _words(
    found: SpotLight, limits: ThingLimits, lux: float, days: int | None, used: float, longest: int, too_bright: bool
) -> list[str]:
    at = f"At {rounded(lux)} lux, {found.hours_per_day:g} hours a day,"
    if limits.responsivity == "high" and found.high_lux > found.lux:
        at = f"At {rounded(lux)} lux (the upper end, since it fades fast), {found.hours_per_day:g} hours a day,"
    if limits.annual_limit_lxh is None:
        return ["Light does it no harm that can be counted. Heat and sun may."]
    said = []
    if not limits.shown_at_all:
        said.append(limits.why_not)
    if lux <= 0:
        said.append("No light falls here, as far as is known.")
    elif days is None:
        said.append(f"{at} a year does not use up its year’s light.")
    elif used > 0:
        said.append(
            f"It has had {rounded(used)} of the {rounded(limits.annual_limit_lxh)} lux hours of its year. {at} "
            f"the rest lasts {days_in_words(days)}."
        )
    else:
        said.append(f"{at} this uses its year’s light in {days_in_words(days)}.")
    if too_bright:
        said.append(f"It is brighter here than the {limits.lux_ceiling} lux it may have.")
    if not found.uv_filtered and lux > 0:
        said.append("UV is not kept off here; glass or acrylic that stops UV would help.")
    if longest >= 1:
        said.append(f"Longest showing within the rules, if it goes up now: {days_in_words(longest)}.")
    elif limits.shown_at_all:
        said.append("Within the rules it cannot be shown here now, not for a day. Hang a copy, or dim the place.")
    return said


def checks_everywhere(thing: Any, spots: Sequence[Spot], today: date, used_lxh: float) -> list[Check]:
    """Return the check of a thing at each spot, those with the longest legal showing first; readings are prefetched."""
    kept, own = queries.policy(), queries.own_light([thing.pk]).get(thing.pk)
    limits = {uv: limits_of_thing(thing, own, kept, uv_filtered=uv, asked=True) for uv in (False, True)}
    found = []
    for spot in spots:
        at = light_of_spot(spot, kept)
        found.append(check(thing, spot, today, used_lxh=used_lxh, found=at, limits=limits[at.uv_filtered]))
    return sorted(found, key=lambda each: (-each.longest, each.lux))


@dataclass(frozen=True)
class Past:
    """One line of a thing's history of light."""

    start: date
    end: date | None
    words: str
    where: Spot | None
    lxh: float
    row: Any
    kind: str  # showing, copy, use

    @property
    def lxh_words(self) -> str:
        return "none" if self.kind == "copy" else rounded(self.lxh)


def history_of(showings: Sequence[Showing], uses: Sequence[LightUse], seen_spots: set[int], until: date) -> list[Past]:
    """Return every showing and other light of a thing, the latest first; a spot not open to the reader is not named."""
    found = [
        Past(
            each.went_up, each.came_down,
            "a copy of it" if each.is_copy else "on show",
            each.spot if each.spot_id in seen_spots else None,
            queries.lxh_of(each, date.min, until), each, "copy" if each.is_copy else "showing",
        )
        for each in showings
    ]  # fmt: skip
    found += [Past(each.day, each.day, word("light_use_what", each.what), None, each.lxh, each, "use") for each in uses]
    return sorted(found, key=lambda each: (each.start, each.row.pk), reverse=True)


@dataclass(frozen=True)
class Fades:
    """What a thing's whole light so far comes to, in just noticeable fades by both series; none known: empty."""

    lxh: str
    by_a: str
    by_b: str
    lifetime: int


def fades_of(limits: ThingLimits, history: Sequence[Past]) -> Fades | None:
    """Return how much of one just noticeable fade all recorded light comes to, showing by showing with its UV."""
    if not limits.blue_wools:
        return None
    worst = min(limits.blue_wools)
    by_a = by_b = total = 0.0
    for each in history:
        filtered = each.kind == "use" or each.row.uv_filtered
        total += each.lxh
        by_a += each.lxh / light.fade_dose_lxh(worst, filtered)
        by_b += each.lxh / light.fade_dose_lxh(worst, True, "b")
    return Fades(rounded(total), _share(by_a), _share(by_b), 10)


def _share(fades: float) -> str:
    if fades <= 0:
        return "none"
    return "less than a hundredth" if fades < 0.01 else f"about {fades:.2g}"


def series_table() -> list[dict[str, str]]:
    """Return both blue-wool series in million lux hours, and how far they are apart, for a table."""
    return [
        {
            "blue_wool": str(each.blue_wool), "with_uv": f"{each.with_uv / 1e6:g}",
            "uv_filtered": f"{each.uv_filtered / 1e6:g}", "older": f"{each.older / 1e6:g}",
            "differ": "the same" if not each.differ_pct else f"{each.differ_pct:+.0f} %".replace("-", "−"),
        }
        for each in light_budget.both_series()
    ]  # fmt: skip


def series_sources() -> tuple[Reason, ...]:
    """Return where both series are from."""
    first, older = light_budget.series_citations()
    return (reason("The figures used.", first), reason("The older figures, beside them.", older))


def preset_choices() -> list[tuple[str, str]]:
    """Return the usual pieces of work with light, each with what it costs."""
    return [
        (each.code, f"{word('light_use', each.code)}: {rounded(each.lxh)} lux hours") for each in light_budget.presets()
    ]


def preset_lxh(code: str) -> float:
    """Return the lux hours of one usual piece of work."""
    return next(each.lxh for each in light_budget.presets() if each.code == code)


def preset_sources() -> tuple[Reason, ...]:
    """Return where the light of the usual pieces of work is from."""
    return tuple(reason(word("light_use", each.code), each.citation) for each in light_budget.presets())


@dataclass(frozen=True)
class OnShow:
    """A thing on show now: whether it is too bright or over its year, and the day by which it should come down."""

    showing: Showing
    too_bright: bool
    over: bool
    down_by: date | None
    why: str


def watch(
    showings: Sequence[Showing], today: date, kept: ShowPolicy | None = None, used: Mapping[int, float] | None = None
) -> list[OnShow]:
    """Return what is to be said of originals and copies that hang now.

    Spots have their readings prefetched, and things what the keeper says of their light. Policy and the light used this
    year (lux hours by thing) are asked for where they are not given: three queries for all.
    """
    kept = kept or queries.policy()
    used = queries.used_lxh([each.thing_id for each in showings], *a_year(today)) if used is None else used
    lights = {each.spot_id: light_of_spot(each.spot, kept) for each in showings}
    found = []
    for each in showings:
        if each.is_copy:
            found.append(OnShow(each, False, False, None, "A copy: its light is not counted."))
            continue
        at = lights[each.spot_id]
        limits = limits_of_thing(
            each.thing, getattr(each.thing, "light", None), kept, uv_filtered=at.uv_filtered, asked=True
        )
        found.append(_watched(each, check(
            each.thing, each.spot, today + timedelta(days=1), used_lxh=used[each.thing_id], found=at, limits=limits
        ), used[each.thing_id], today))  # fmt: skip
    return found


def _watched(showing: Showing, checked: Check, used: float, today: date) -> OnShow:
    limits = checked.limits
    over = limits.annual_limit_lxh is not None and used > limits.annual_limit_lxh
    longest = showing.went_up + timedelta(weeks=limits.max_weeks)
    if not limits.shown_at_all or over or checked.too_bright:
        why = limits.why_not or ("Its year’s light is used up." if over else "It is too bright for it here.")
        return OnShow(showing, checked.too_bright, over, today, why)
    if limits.annual_limit_lxh is None:
        return OnShow(showing, False, False, None, "Light does it no harm that can be counted.")
    if checked.days is None:
        return OnShow(showing, False, False, longest, f"It has then hung for {limits.max_weeks} weeks.")
    spent = today + timedelta(days=checked.days)
    if spent < longest:
        return OnShow(showing, False, False, spent, "Its year’s light is then used up.")
    return OnShow(showing, False, False, longest, f"It has then hung for {limits.max_weeks} weeks.")


def policy_reasons() -> tuple[Reason, ...]:
    """Return where the default policy and the UV limits are from."""
    from conservation.science.spots import figure

    return (
        *sources([light.policy_citation()]),
        reason("75 µW/lm", figure("uv_limit")[1]), reason("10 µW/lm", figure("uv_strict")[1]),
    )  # fmt: skip


def kept_policy() -> ShowPolicy:
    """Return what the keeper chose for everything on show."""
    return queries.policy()


def worth_showing(things: Sequence[Any], form: str, how_many: int = 18) -> list[Any]:
    """Return the things whose original may be shown at a place of a form, in their order, at most so many.

    Two queries. No reel of film for a wall, no medal for a rail.
    """
    limits = limits_of_things(things)
    fitting = (each for each in things if (mounts := mounts_of(each.kind_code)) and takes(form, mounts))
    return [each for each in fitting if limits[each.pk].shown_at_all][:how_many]


def what_governs(thing: Any) -> str:
    """Return the part or the state by which a thing is more sensitive than by its kind alone; nothing where none is."""
    own = light.light_of_kinds()[thing.kind_code][0] or 9
    worst = light.of_thing(thing.kind_code, tuple(thing.parts), tuple(thing.states))
    if not worst.blue_wools or min(worst.blue_wools) >= own:
        return ""
    part = next((code for code in thing.parts if light.light_of_kinds()[code][0] == min(worst.blue_wools)), None)
    if part is not None:
        return kind(part).name.lower()
    return next((state(code).name.lower() for code in thing.states if code == "hand-coloured"), "")
