"""What the `rotation` sum is asked: spots, things, occasions, and showings that are settled already."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Annotated, Protocol

from pydantic import Field

from conservation.science.problem import InputError, Problem

Id = Annotated[str, Field(min_length=1, max_length=200)]
Size = Annotated[float, Field(gt=0, le=100_000)]
Lux = Annotated[float, Field(ge=0, le=200_000)]
Weeks = Annotated[int, Field(ge=1, le=520)]
Week = Annotated[int, Field(ge=0, le=520)]


class Spot(Problem):
    """A place where things are shown."""

    id: Id
    capacity: Annotated[int, Field(ge=1, le=1000)] | None = 1
    width_mm: Size
    height_mm: Size
    lux: Lux | list[Lux]
    hours_per_day: Annotated[float, Field(ge=0, le=24)]
    uv_filtered: bool | None = False


class Thing(Problem):
    """Something that may be shown."""

    id: Id
    width_mm: Size
    height_mm: Size
    annual_limit_lxh: Annotated[float, Field(ge=0)] | None = None
    used_lxh: Annotated[float, Field(ge=0)] | None = 0
    lux_ceiling: Annotated[float, Field(ge=0)] | None = None
    min_weeks: Weeks | None = 2
    max_weeks: Weeks | None = 13
    rest_weeks: Week | None = 13
    not_before_week: Week | None = 0
    value: Annotated[int, Field(ge=1, le=5)]
    barred_spots: list[Id] | None = None


class Occasion(Problem):
    """A day that matters to the family, and the things that belong to it."""

    id: Id
    week: Week
    things: list[Id]
    weight: Annotated[int, Field(ge=1, le=3)]


class Fixed(Problem):
    """A showing that is settled and stays as it is."""

    thing: Id
    spot: Id
    from_week: Week
    weeks: Weeks


class Input(Problem):
    """A display plan to be made, in whole weeks."""

    weeks: Weeks | None = 52
    limit_s: Annotated[float, Field(gt=0, le=86_400)] | None = 20
    seed: Annotated[int, Field(ge=0, le=2_147_483_647)] | None = 1
    change_weeks: list[Week] | None = None
    spots: list[Spot]
    things: list[Thing]
    occasions: list[Occasion] | None = None
    fixed: list[Fixed] | None = None


class _Named(Protocol):
    @property
    def id(self) -> str: ...


def _unique(rows: Sequence[_Named], name: str) -> set[str]:
    seen: set[str] = set()
    for number, row in enumerate(rows):
        if row.id in seen:
            raise InputError(f"{name}[{number}].id", row.id, "each id once is accepted")
        seen.add(row.id)
    return seen


def _known(ids: Iterable[str], known: set[str], path: str) -> None:
    for number, each in enumerate(ids):
        if each not in known:
            raise InputError(f"{path}[{number}]", each, "an id that is listed is accepted")


def check(problem: Input) -> None:
    """Check what goes over more than one field.

    Raises:
        InputError: an id is unknown or doubled, a list has the wrong length, or a week lies outside the plan.
    """
    weeks = problem.weeks or 52
    spots, things = _unique(problem.spots, "spots"), _unique(problem.things, "things")
    _unique(problem.occasions or [], "occasions")
    for number, spot in enumerate(problem.spots):
        if isinstance(spot.lux, list) and len(spot.lux) != weeks:
            raise InputError(f"spots[{number}].lux", len(spot.lux), f"a list of {weeks} numbers is accepted")
    for number, thing in enumerate(problem.things):
        _known(thing.barred_spots or [], spots, f"things[{number}].barred_spots")
        least, most = least_weeks(thing), most_weeks(thing)
        if least > most:
            raise InputError(f"things[{number}].min_weeks", least, f"at most max_weeks ({most}) is accepted")
    for number, occasion in enumerate(problem.occasions or []):
        _known(occasion.things, things, f"occasions[{number}].things")
        if occasion.week >= weeks:
            raise InputError(f"occasions[{number}].week", occasion.week, f"a week from 0 to {weeks - 1} is accepted")
    for number, fixed in enumerate(problem.fixed or []):
        if fixed.thing not in things:
            raise InputError(f"fixed[{number}].thing", fixed.thing, "an id that is listed is accepted")
        if fixed.spot not in spots:
            raise InputError(f"fixed[{number}].spot", fixed.spot, "an id that is listed is accepted")
    for number, week in enumerate(problem.change_weeks or []):
        if week > weeks:
            raise InputError(f"change_weeks[{number}]", week, f"a week from 0 to {weeks} is accepted")


def least_weeks(thing: Thing) -> int:
    """Return the fewest weeks that a thing is put up for."""
    return 2 if thing.min_weeks is None else thing.min_weeks


def most_weeks(thing: Thing) -> int:
    """Return the most weeks that a thing is left up for."""
    return 13 if thing.max_weeks is None else thing.max_weeks


def gap_weeks(thing: Thing) -> int:
    """Return the weeks that lie at least between two showings of a thing: its rest, and never less than one."""
    return max(1, 13 if thing.rest_weeks is None else thing.rest_weeks)


def weekly_dose(spot: Spot, week: int) -> float:
    """Return the lux hours that one week at a spot costs."""
    lux = spot.lux[week] if isinstance(spot.lux, list) else spot.lux
    return lux * spot.hours_per_day * 7


def lux_in(spot: Spot, week: int) -> float:
    """Return the lux at a spot in a week."""
    return spot.lux[week] if isinstance(spot.lux, list) else spot.lux
