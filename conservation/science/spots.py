"""The light of a place at home, from readings or from a short questionnaire, and verdicts on what is near it.

All of it is of the order of magnitude only. An estimate carries a band; whoever plans for something highly sensitive
takes the upper end of it.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Any, Literal

from conservation.science.sources import DATA, Citation

Origin = Literal["readings", "partly", "estimate", "nothing"]
_MIDSUMMER, _YEAR = 172, 365.25  # day of the year on which the north has most light
_MANY = 4
_CODES = ("direction", "distance", "curtain", "sun", "lamp", "glazing")


@dataclass(frozen=True)
class Reading:
    """One reading: lux, the day it was taken, the sky (``sun``, ``cloud``, ``night``), the device, UV in µW/lm."""

    lux: float
    day: date
    sky: str = ""
    by_what: str = "phone"
    uv_uw_lm: float | None = None


@dataclass(frozen=True)
class Place:
    """What is known of the light of a place; an empty answer was not given. ``southern``: summer is in January."""

    direction: str = ""  # n, e, s, w, none
    distance: str = ""
    curtain: str = ""
    sun: str = ""
    lamp: str = ""
    lamp_hours: float | None = None
    hours: float | None = None  # of light a day in all, where the keeper says it
    glazing: str = ""
    southern: bool = False
    strict_uv: bool = False
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True)
class Part:
    """Daylight or lamps: mean lux while it shines, hours a day, how far off it may be, and where it is from."""

    lux: float
    hours: float
    band: float
    is_read: bool
    citations: tuple[Citation, ...]


@dataclass(frozen=True)
class Light:
    """The light of a place, as a mean over its lit hours and a year; ``low`` and ``high`` are the ends of its band."""

    lux: float
    low: float
    high: float
    hours_per_day: float
    day: Part
    lamp: Part
    uv_uw_lm: float  # behind whatever is in front of the thing
    uv_filtered: bool
    origin: Origin
    southern: bool
    citations: tuple[Citation, ...]
    notes: tuple[str, ...]

    def lux_on(self, day: date, *, upper: bool = False) -> float:
        """Return the mean lux over the lit hours of one day, with the season in it; ``upper``: the band's high end."""
        if not self.hours_per_day:
            return 0.0
        bright = self.day.lux * season(day, self.southern) * (self.day.band if upper else 1.0)
        lit = self.lamp.lux * (self.lamp.band if upper else 1.0)
        return (bright * self.day.hours + lit * self.lamp.hours) / self.hours_per_day

    def weekly(self, start: date, weeks: int, *, upper: bool = False) -> list[float]:
        """Return the mean lux of each of some weeks from ``start`` on."""
        return [self.lux_on(start + timedelta(days=7 * each + 3), upper=upper) for each in range(weeks)]

    def lxh_between(self, start: date, end: date, *, upper: bool = False) -> float:
        """Return the lux hours from one day to another (not included), day by day with the season; at least a day's."""
        days = max(1, (end - start).days)
        return sum(self.lux_on(start + timedelta(days=each), upper=upper) for each in range(days)) * self.hours_per_day


@cache
def _tables() -> dict[str, Any]:
    with (DATA / "spots.toml").open("rb") as file:
        return tomllib.load(file)


def _citation(row: dict[str, Any]) -> Citation:
    return Citation(row["source"], row["locator"], row["status"])


def _figure(name: str) -> tuple[float, Citation]:
    row = _tables()["figure"][name]
    return float(row["value"]), _citation(row)


def _row(table: str, code: str) -> tuple[float, Citation]:
    row = _tables()[table][code]
    return float(row["value"]), _citation(row)


def season(day: date, southern: bool) -> float:
    """Return the daylight of a day as a share of the year's mean, in middle latitudes."""
    swing = _figure("season")[0] * math.cos(2 * math.pi * (day.timetuple().tm_yday - _MIDSUMMER) / _YEAR)
    return 1.0 - swing if southern else 1.0 + swing


def side_of(direction: str, southern: bool) -> str:
    """Return whether a window looks to the midday sun (``sunny``), away from it (``shady``) or to a ``side``."""
    if direction in ("e", "w"):
        return "side"
    return "sunny" if (direction == "n") == southern else "shady"


def estimated_daylight(place: Place) -> tuple[float, list[Citation]]:
    """Return the mean daytime lux of a place by the questionnaire, and what that rests on; 0 without a window."""
    if place.direction == "none":
        return 0.0, []
    if not place.distance:
        lux, citation = _figure("typical_home")
        citations = [citation]
    else:
        lux, citation = _row("distance", place.distance)
        citations = [citation]
        if place.direction and place.distance != "deep":
            share, why = _row("direction", side_of(place.direction, place.southern))
            lux, citations = lux * share, [*citations, why]
    if place.curtain:
        share, why = _row("curtain", place.curtain)
        lux, citations = lux * share, [*citations, why]
    if place.sun and place.sun != "never":
        hours, why = _row("sun", place.sun)
        sunlit, from_whom = _figure("sun_on_it")
        share = _row("curtain", place.curtain)[0] if place.curtain else 1.0
        day = _figure("daylight_hours")[0]
        lux = (lux * (day - hours) + sunlit * share * hours) / day
        citations += [why, from_whom]
    return lux, citations


def _hours(place: Place) -> tuple[float, float]:
    """Return the hours of daylight and of lamps a day."""
    lamp = 0.0
    if place.lamp and place.lamp != "none":
        lamp = _figure("lamp_hours")[0] if place.lamp_hours is None else place.lamp_hours
    day = 0.0 if place.direction == "none" else _figure("daylight_hours")[0]
    if place.hours is not None:
        if place.direction == "none":
            return 0.0, place.hours
        lamp = min(lamp, place.hours)
        day = min(24.0, place.hours) - lamp
    return day, min(lamp, 24.0 - day)


def _band(readings: Sequence[Reading]) -> tuple[float, Citation]:
    if any(each.by_what == "phone" for each in readings):
        return _figure("phone_band")
    return _figure("many_readings_band" if len(readings) >= _MANY else "meter_band")


def _day_part(place: Place, hours: float) -> Part:
    taken = [each for each in place.readings if each.sky != "night"]
    if taken:
        by_sky: dict[str, list[float]] = {}
        for each in taken:
            by_sky.setdefault(each.sky, []).append(each.lux / season(each.day, place.southern))
        means = [sum(found) / len(found) for found in by_sky.values()]
        band, why = _band(taken)
        return Part(sum(means) / len(means), hours, band, True, (why, _figure("season")[1]))
    lux, citations = estimated_daylight(place)
    band, why = _figure("estimate_band")
    return Part(lux, hours if lux else 0.0, band, False, (*citations, why) if lux else ())


def _lamp_part(place: Place, hours: float) -> Part:
    taken = [each for each in place.readings if each.sky == "night"]
    if taken:
        band, why = _band(taken)
        hours = hours or _figure("lamp_hours")[0]
        return Part(sum(each.lux for each in taken) / len(taken), hours, band, True, (why,))
    if not hours or not place.lamp or place.lamp == "none":
        return Part(0.0, 0.0, 1.0, False, ())
    lux, citation = _row("lamp", place.lamp)
    band, why = _figure("estimate_band")
    return Part(lux, hours, band, False, (citation, why))


def light_of(place: Place) -> Light:
    """Return the light of a place from its readings, else from the questionnaire, else as homes have it on average."""
    day_hours, lamp_hours = _hours(place)
    day, lamp = _day_part(place, day_hours), _lamp_part(place, lamp_hours)
    if day.hours + lamp.hours > 24:
        lamp = Part(lamp.lux, 24 - day.hours, lamp.band, lamp.is_read, lamp.citations)
    hours = day.hours + lamp.hours
    dose = day.lux * day.hours + lamp.lux * lamp.hours
    high = day.lux * day.hours * day.band + lamp.lux * lamp.hours * lamp.band
    low = day.lux * day.hours / day.band + lamp.lux * lamp.hours / lamp.band
    uv, uv_citations = _uv(place, day, lamp)
    limit, limit_citation = _figure("uv_strict" if place.strict_uv else "uv_limit")
    shining = [each for each in (day, lamp) if each.lux * each.hours > 0]
    return Light(
        lux=dose / hours if hours else 0.0,
        low=low / hours if hours else 0.0,
        high=high / hours if hours else 0.0,
        hours_per_day=hours,
        day=day,
        lamp=lamp,
        uv_uw_lm=uv,
        uv_filtered=uv <= limit,
        origin=_origin(place, shining),
        southern=place.southern,
        citations=tuple(dict.fromkeys([*day.citations, *lamp.citations, *uv_citations, limit_citation])),
        notes=tuple(_notes(place, shining)),
    )


def _origin(place: Place, shining: Sequence[Part]) -> Origin:
    if place.readings and all(each.is_read for each in shining):
        return "readings"
    if place.readings:
        return "partly"
    answered = place.direction or place.distance or place.curtain or (place.lamp and place.lamp != "none")
    return "estimate" if answered else "nothing"


def _uv(place: Place, day: Part, lamp: Part) -> tuple[float, list[Citation]]:
    """Return the worst UV of what shines, in µW/lm, behind the glazing; a measured value goes before a supposed one."""
    measured = [each.uv_uw_lm for each in place.readings if each.uv_uw_lm is not None]
    citations = []
    if measured:
        before = max(measured)
    else:
        before = 0.0
        if day.lux * day.hours > 0:
            before, citation = _figure("daylight_uv")
            citations.append(citation)
        if lamp.lux * lamp.hours > 0:
            row = _tables()["lamp"].get(place.lamp) or _tables()["lamp"]["halogen"]
            before = max(before, float(row["uv"]))
            citations.append(_citation(row))
    stopped, why = _row("glazing", place.glazing or "none")
    return before * (1 - stopped), [*citations, why]


def _notes(place: Place, shining: Sequence[Part]) -> Iterable[str]:
    if any(each.by_what == "phone" for each in place.readings):
        yield "A phone’s figure may be half or double the truth; a light meter for a few coins is better."
    day = [each for each in place.readings if each.sky != "night"]
    if day and len(day) < _MANY:
        yield "Few readings by day: take them in the morning, at noon and late, in sun and under cloud."
    if place.readings and any(not each.is_read for each in shining):
        yield "Part of the light is estimated: by day or by lamplight there is no reading yet."
    if place.direction != "none":
        yield "Daylight is taken to be 40 % more in summer and less in winter, as in middle latitudes."


# -- what is near ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class PlaceVerdict:
    """Whether something near a place, or a lining, suits what is shown: good, fair or poor, and what mends it."""

    code: str
    verdict: str
    why: str
    instead: str
    citation: Citation


def place_codes(which: Literal["near", "lining"]) -> tuple[str, ...]:
    """Return the codes of what may be near, or of what a cabinet or frame is lined with."""
    return tuple(_tables()[which])


def answers(which: str) -> tuple[str, ...]:
    """Return the codes of one question of the questionnaire, in their order."""
    return ("n", "e", "s", "w", "none") if which == "direction" else tuple(_tables()[which])


def verdict_on(which: Literal["near", "lining"], code: str) -> PlaceVerdict:
    """Return the verdict on one thing that is near, or on one lining.

    Raises:
        KeyError: there is no such code.
    """
    row = _tables()[which][code]
    return PlaceVerdict(code, row["verdict"], row["why"], row["instead"], _citation(row))


def figure(name: str) -> tuple[float, Citation]:
    """Return one of the general figures of ``spots.toml`` and where it is from.

    Raises:
        KeyError: there is no such figure.
    """
    return _figure(name)


def takes(form: str, mounts: Iterable[str]) -> bool:
    """Say whether a place of a form (`spot_form`) is made for one of some ways of showing (`mount`).

    A copy goes anywhere; so does what nobody has a way for, since then the keeper knows better. Our default.
    """
    wanted = set(mounts)
    made_for = _tables()["mounts"].get(form)
    return made_for is None or not wanted or bool(wanted & {*made_for, "copy"}) or "nothing" in wanted
