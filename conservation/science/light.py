"""Light on show: how sensitive a thing is, what a showing costs it, and how long until a fade can be noticed.

Doses are lux × hours; they add up whatever the order (reciprocity). All fade figures are orders of magnitude.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from conservation.science.problem import InputError, Kind, Problem, State
from conservation.science.sources import DATA, Citation, Status, cited

Responsivity = Literal["none", "low", "medium", "high"]
ORDER: tuple[Responsivity, ...] = ("none", "low", "medium", "high")
_MILLION = 1_000_000
_NO_LIGHT = 1e-200  # lux hours a day, below which days and years would pass what a number can hold


class Input(Problem):
    """A thing or a class of sensitivity, and the light it would stand in."""

    kind: Kind | None = None
    parts: list[Kind] | None = None
    states: list[State] | None = None
    responsivity: Responsivity | None = None
    blue_wool: Annotated[int, Field(ge=1, le=8)] | None = None
    uv_filtered: bool | None = False
    lux: Annotated[float, Field(ge=0, le=200_000)]
    hours_per_day: Annotated[float, Field(ge=0, le=24)]
    days: Annotated[float, Field(ge=0, le=36_600)] | None = 365
    already_lxh: Annotated[float, Field(ge=0)] | None = 0
    years_per_fade: Annotated[float, Field(gt=0, le=10_000)] | None = 50
    lifetime_fades: Annotated[float, Field(gt=0, le=1000)] | None = 10

    @model_validator(mode="after")
    def _sound_stands_alone(self) -> Input:
        if self.states and "sound" in self.states and len(set(self.states)) > 1:
            raise ValueError("sound is accepted only alone")
        return self


@dataclass(frozen=True)
class Sensitivity:
    """How sensitive something is to light.

    ``blue_wools`` is one reference, or several where only the class is known; none where light does no harm.
    """

    responsivity: Responsivity
    blue_wools: tuple[int, ...]
    lux_limit: int | None
    annual_limit_lxh: int | None
    shown_at_all: bool
    citations: tuple[Citation, ...]


@dataclass(frozen=True)
class Series:
    """Lux hours to one just noticeable fade for blue wools 1 to 8."""

    with_uv: tuple[float, ...] | None
    uv_filtered: tuple[float, ...]
    citation: Citation


def _citation(row: dict[str, Any]) -> Citation:
    status: Status = row["status"]
    return Citation(row["source"], row["locator"], status)


@cache
def _tables() -> dict[str, Any]:
    with (DATA / "light.toml").open("rb") as file:
        return tomllib.load(file)


@cache
def light_of_kinds() -> dict[str, tuple[int, Citation]]:
    """Return the blue wool of each kind, 0 where light does no harm, and who says so (``care.toml``)."""
    with (DATA / "care.toml").open("rb") as file:
        care = tomllib.load(file)
    return {code: (row["light"]["blue_wool"], _citation(row["light"])) for code, row in care.items()}


@cache
def series(name: Literal["a", "b"]) -> Series:
    """Return one series of blue-wool exposures, in lux hours. Series A is used; B is older and shown beside it."""
    row = _tables()[f"series_{name}"]
    with_uv = tuple(each * _MILLION for each in row["with_uv"]) if "with_uv" in row else None
    return Series(with_uv, tuple(each * _MILLION for each in row["uv_filtered"]), _citation(row))


def fade_dose_lxh(blue_wool: int, uv_filtered: bool, which: Literal["a", "b"] = "a") -> float:
    """Return the lux hours to one just noticeable fade of a blue wool, 1 to 8.

    Raises:
        ValueError: there is no such blue wool, or series B is asked for light with UV, which it does not have.
    """
    if not 1 <= blue_wool <= 8:
        raise ValueError("blue wools run from 1 to 8")
    found = series(which)
    if uv_filtered:
        return found.uv_filtered[blue_wool - 1]
    if found.with_uv is None:
        raise ValueError("series B is for light without UV only")
    return found.with_uv[blue_wool - 1]


def class_of(blue_wool: int) -> Responsivity:
    """Return the class of a blue wool, 0 standing for what light does no harm."""
    if blue_wool == 0:
        return "none"
    return "high" if blue_wool <= 3 else "medium" if blue_wool <= 6 else "low"


def by_class(responsivity: Responsivity) -> Sensitivity:
    """Return the sensitivity of a whole class."""
    row = _tables()["class"][responsivity]
    return Sensitivity(
        responsivity, tuple(row["blue_wools"]), row["lux_limit"] or None, row["annual_limit_lxh"] or None, True,
        (_citation(row),),
    )  # fmt: skip


def by_blue_wool(blue_wool: int) -> Sensitivity:
    """Return the sensitivity of one blue wool."""
    whole = by_class(class_of(blue_wool))
    return Sensitivity(
        whole.responsivity, (blue_wool,) if blue_wool else (), whole.lux_limit, whole.annual_limit_lxh, True,
        whole.citations,
    )  # fmt: skip


def of_thing(kind: str, parts: tuple[str, ...] = (), states: tuple[str, ...] = ()) -> Sensitivity:
    """Return the sensitivity of a thing: that of its most sensitive part, the lowest of all their lux limits."""
    silver = _tables()["silver_gelatin"]
    found: list[tuple[int, int | None, Citation]] = []
    citations: list[Citation] = []
    for code in (kind, *parts):
        blue_wool, citation = light_of_kinds()[code]
        limit = by_blue_wool(blue_wool).lux_limit
        if code in silver["kinds"]:
            limit = silver["lux_limit"]
            citations.append(_citation(silver))
        found.append((blue_wool or 9, limit, citation))
    for state in states:
        if state in _tables()["state"]:
            row = _tables()["state"][state]
            found.append((row["blue_wool"], by_blue_wool(row["blue_wool"]).lux_limit, _citation(row)))
    worst = min(found, key=lambda each: each[0])
    whole = by_blue_wool(worst[0] if worst[0] < 9 else 0)
    limits = [limit for _, limit, _ in found if limit is not None]
    never = [_citation(_tables()["never"][code]) for code in (kind, *parts) if code in _tables()["never"]]
    return Sensitivity(
        whole.responsivity, whole.blue_wools, min(limits) if limits else None, whole.annual_limit_lxh, not never,
        (worst[2], *whole.citations, *citations, *never),
    )  # fmt: skip


def policy_citation() -> Citation:
    """Return where the default policy is from: one just noticeable fade in 50 years."""
    return _citation(_tables()["policy"])


def unfixed_citation() -> Citation:
    """Return who says that a photograph that was never fixed is not shown."""
    return _citation(_tables()["unfixed"])


def _asked(problem: Input) -> Sensitivity:
    ways = [name for name in ("kind", "responsivity", "blue_wool") if getattr(problem, name) is not None]
    if len(ways) != 1:
        value = None if not ways else getattr(problem, ways[1])
        raise InputError(
            ways[1] if ways else "kind", value, "one way of naming the sensitivity: kind, responsivity or blue_wool"
        )
    if problem.kind is None:
        for name in ("parts", "states"):
            if getattr(problem, name):
                raise InputError(name, getattr(problem, name), "it is accepted only with a kind")
    if problem.kind is not None:
        return of_thing(problem.kind, tuple(problem.parts or ()), tuple(problem.states or ()))
    if problem.blue_wool is not None:
        return by_blue_wool(problem.blue_wool)
    assert problem.responsivity is not None  # noqa: S101 - one of the three ways is left
    return by_class(problem.responsivity)


def _spread(values: list[float]) -> float | list[float] | None:
    """Return one value as itself, several as their range, none as None."""
    if not values:
        return None
    return values[0] if len(values) == 1 else [min(values), max(values)]


def work_out(problem: Input) -> dict[str, Any]:
    """Answer the topic `light`.

    Raises:
        InputError: the sensitivity is named in no way, or in more than one.
    """
    found = _asked(problem)
    notes: list[str] = []
    uv_filtered = bool(problem.uv_filtered)
    days = 365 if problem.days is None else problem.days
    already = problem.already_lxh or 0
    policy = problem.years_per_fade or 50
    lifetime = problem.lifetime_fades or 10
    a_day = problem.lux * problem.hours_per_day
    dose = a_day * days
    limit = found.annual_limit_lxh
    left: float | None = None
    if limit is not None:
        left = max(0.0, (limit - already) / a_day) if a_day > _NO_LIGHT else None
        if left is None:
            notes.append("Without light the days left have no end.")
    fades = [fade_dose_lxh(each, uv_filtered) for each in found.blue_wools]
    years = [each / (a_day * 365) for each in fades] if a_day > _NO_LIGHT else []
    if fades and not years:
        notes.append("Without light nothing fades.")
    if not found.blue_wools:
        notes.append("Light does it no harm that can be counted; heat and UV may.")
    elif len(found.blue_wools) > 1:
        notes.append("Only the class is known: fade figures are ranges over its blue wools.")
    row = _tables()["faster"]
    faster = [_citation(row)] if set(row["kinds"]) & {problem.kind, *(problem.parts or [])} else []
    if faster:
        notes.append("Some of these fade sooner than blue wool 1: reckon with half of the figures of fading.")
    passed = limit is not None and already + dose > limit
    citations = [*found.citations, *([series("a").citation] if fades else []), *faster]
    if problem.years_per_fade in (None, 50) or problem.lifetime_fades in (None, 10):
        citations.append(_citation(_tables()["policy"]))
    return {
        "responsivity": found.responsivity,
        "dose_lxh": dose,
        "annual_limit_lxh": limit,
        "lux_limit": found.lux_limit,
        "over_lux_limit": found.lux_limit is not None and problem.lux > found.lux_limit,
        "share_of_limit": None if limit is None else (already + dose) / limit,
        "days_left_this_year": left,
        "fade_dose_lxh": _spread(fades),
        "years_to_first_fade": _spread(years),
        "years_to_end": _spread([each * lifetime for each in years]),
        "duty_share_for_policy": _spread([min(1.0, each / policy) for each in years]),
        "show_a_copy": not found.shown_at_all or found.responsivity == "high" or passed,
        "sources": cited(citations),
        "notes": notes,
    }
