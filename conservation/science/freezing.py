"""Treating insects by cold: whether what was measured inside the bag is a treatment, and when it is done (pure).

Sources stand in ``data/freezing.toml``. Temperatures in °C, times as aware or naive datetimes of one kind.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from itertools import pairwise
from typing import Any, Literal

from archive.kinds import kind
from conservation.science.sources import DATA, Citation

Standing = Literal["no-readings", "too-warm", "cooling", "running", "broken", "done"]
Level = Literal["never", "ask"]


@dataclass(frozen=True)
class Regime:
    """How cold (°C), how long together (h) and how often make a treatment."""

    code: str
    at_most_c: float
    hours: float
    cycles: int
    name: str
    citation: Citation


@dataclass(frozen=True)
class Refusal:
    """Why a thing is not frozen, what to do instead, and who says so."""

    code: str
    level: Level
    because: str
    instead: str
    citation: Citation


@dataclass(frozen=True)
class Cycle:
    """One stay in the freezer: when the bag went in and came out (None: it is still in)."""

    went_in: datetime
    came_out: datetime | None = None


@dataclass(frozen=True)
class Reading:
    """The temperature inside the bag (°C) at a time."""

    at: datetime
    celsius: float


@dataclass(frozen=True)
class Progress:
    """How far one regime has come: hours of cold in the run that counts now, stays that held it, when it was met."""

    regime: Regime
    hours: float
    held: int
    met_at: datetime | None
    would_end: datetime | None  # if it stays as cold as at the last reading


@dataclass(frozen=True)
class Answer:
    """What the readings say of a treatment."""

    standing: Standing
    done_at: datetime | None
    by: Regime | None
    progress: tuple[Progress, ...]
    next_end: datetime | None
    hours_to_zero: float | None


@cache
def _file() -> dict[str, Any]:
    with (DATA / "freezing.toml").open("rb") as file:
        return tomllib.load(file)


def _cite(row: dict[str, Any]) -> Citation:
    return Citation(row["source"], row["locator"], row["status"])


@cache
def regimes() -> tuple[Regime, ...]:
    """Return the regimes that are treatments, in the order of the table."""
    return tuple(
        Regime(code, float(row["at_most_c"]), float(row["hours"]), row["cycles"], row["name"], _cite(row))
        for code, row in _file()["regime"].items()
    )


def rule(name: str) -> float:
    """Return one of the rules by name, in hours or °C."""
    return float(_file()["rule"][name]["value"])


def rule_citation(name: str) -> Citation:
    """Return where a rule comes from."""
    return _cite(_file()["rule"][name])


def warmest_c() -> float:
    """Return the warmest temperature that is a treatment at all, in °C."""
    return max(each.at_most_c for each in regimes())


def way() -> tuple[tuple[str, Citation], ...]:
    """Return the steps of the procedure, in order, each with where it comes from."""
    ours = {"source": "kistbook", "locator": "freezing: steps", "status": "our default"}
    return tuple((row["do"], _cite({**ours, **row})) for row in _file()["way"])


def disagreements() -> tuple[dict[str, Any], ...]:
    """Return where sources differ: topic, positions with their sources, and which one is used."""
    return tuple(_file()["disagree"].values())


def questions() -> dict[str, str]:
    """Return the questions that no record answers, by code."""
    return {code: row["ask"] for code, row in _file()["question"].items()}


# -- may it be frozen ------------------------------------------------------------------------------------------------


def refusals(
    kind_code: str, states: Iterable[str] = (), parts: Iterable[str] = (), answers: Iterable[str] = ()
) -> tuple[Refusal, ...]:
    """Return why a thing is not frozen against insects; its parts count as much as itself. Empty: it may be.

    Args:
        answers: codes of `questions` that were answered with yes.
    """
    kinds, found = {kind_code, *parts}, []
    conditions, told = set(states), set(answers)
    for code, row in _file()["refuse"].items():
        hit = (
            kinds & set(row.get("kinds", ()))
            or conditions & set(row.get("states", ()))
            or told & set(row.get("answers", ()))
            or (row.get("cased") and any(kind(each).cased for each in kinds))
        )
        if hit:
            found.append(Refusal(code, row["level"], row["because"], row["instead"], _cite(row)))
    return tuple(found)


def is_refused(kind_code: str, states: Iterable[str] = (), parts: Iterable[str] = ()) -> bool:
    """Say whether a thing must never be frozen against insects."""
    return any(each.level == "never" for each in refusals(kind_code, states, parts))


# -- is it a treatment, and when is it done ----------------------------------------------------------------------------


def assess(cycles: Sequence[Cycle], readings: Iterable[Reading]) -> Answer:
    """Return what the temperatures measured inside the bag amount to.

    Between two readings the bag is taken to have been as warm as the warmer of them, and where they are further apart
    than the longest gap, nothing is known. After the last reading nothing counts. A warmer reading can therefore only
    make the treatment later, or none.

    Args:
        cycles: the stays in the freezer, in order; readings outside them do not count.
        readings: in any order; of two at the same time the warmer counts.
    """
    stays = [_within(cycle, readings) for cycle in cycles]
    progress = tuple(_progress(regime, stays, cycles) for regime in regimes())
    met = min(((each.met_at, n) for n, each in enumerate(progress) if each.met_at is not None), default=None)
    best = progress[met[1]] if met is not None else None
    ends = [each.would_end for each in progress if each.would_end is not None]
    standing, zero = _standing(stays, progress, best is not None), _hours_to_zero(cycles, stays)
    return Answer(
        standing,
        best.met_at if best else None,
        best.regime if best else None,
        progress,
        min(ends, default=None) if best is None else None,
        zero,
    )


def _within(cycle: Cycle, readings: Iterable[Reading]) -> list[Reading]:
    warmest: dict[datetime, float] = {}
    for each in readings:
        if cycle.went_in <= each.at and (cycle.came_out is None or each.at <= cycle.came_out):
            warmest[each.at] = max(each.celsius, warmest.get(each.at, each.celsius))
    return [Reading(at, warmest[at]) for at in sorted(warmest)]


def _runs(stay: Sequence[Reading], at_most: float) -> list[tuple[datetime, datetime]]:
    """Return the unbroken runs at or below a temperature, each from its first to its last reading."""
    gap = timedelta(hours=rule("longest_gap"))
    runs: list[tuple[datetime, datetime]] = []
    open_run: tuple[datetime, datetime] | None = None
    before: Reading | None = None
    for reading in stay:
        cold = reading.celsius <= at_most
        known = before is not None and reading.at - before.at <= gap
        if open_run is not None and (not cold or not known):
            runs.append(open_run)
            open_run = None
        if cold:
            open_run = (open_run[0] if open_run else reading.at, reading.at)
        before = reading
    return [*runs, open_run] if open_run is not None else runs


def _first_met(stay: Sequence[Reading], regime: Regime) -> datetime | None:
    """Return when one stay first held the regime's hours together."""
    needed = timedelta(hours=regime.hours)
    return next((start + needed for start, end in _runs(stay, regime.at_most_c) if end - start >= needed), None)


def _progress(regime: Regime, stays: Sequence[Sequence[Reading]], cycles: Sequence[Cycle]) -> Progress:
    met_in = [_first_met(stay, regime) for stay in stays]
    met = _met_at(regime, met_in, cycles)
    last = list(stays[-1]) if stays else []
    hours, would_end = 0.0, None
    if last and last[-1].celsius <= regime.at_most_c:
        start, end = _runs(last, regime.at_most_c)[-1]
        hours = (end - start).total_seconds() / 3600
        still_in = cycles[-1].came_out is None
        enough = regime.cycles == 1 or _thawed_after(met_in[:-1], cycles[:-1], cycles[-1].went_in)
        if met is None and still_in and enough:
            would_end = start + timedelta(hours=regime.hours)
    return Progress(regime, hours, sum(each is not None for each in met_in), met, would_end)


def _met_at(regime: Regime, met_in: Sequence[datetime | None], cycles: Sequence[Cycle]) -> datetime | None:
    if regime.cycles == 1:
        return min((each for each in met_in if each is not None), default=None)
    found = [
        met
        for n, met in enumerate(met_in)
        if met is not None and _thawed_after(met_in[:n], cycles[:n], cycles[n].went_in)
    ]
    return min(found, default=None)


def _thawed_after(met_in: Sequence[datetime | None], cycles: Sequence[Cycle], went_in: datetime) -> bool:
    """Say whether an earlier stay met the regime and the bag then thawed long enough before it went in again."""
    thaw = timedelta(hours=rule("thaw_least"))
    return any(
        met is not None and cycle.came_out is not None and went_in - cycle.came_out >= thaw
        for met, cycle in zip(met_in, cycles, strict=True)
    )


def _standing(stays: Sequence[Sequence[Reading]], progress: Sequence[Progress], done: bool) -> Standing:
    if done:
        return "done"
    last = stays[-1] if stays else []
    if not last:
        return "no-readings"
    if last[-1].celsius <= warmest_c():
        return "running"
    was_cold = any(each.celsius <= warmest_c() for each in last)
    if was_cold:
        return "broken"
    falling = all(after.celsius < before.celsius for before, after in pairwise(last[-3:]))
    hours = (last[-1].at - last[0].at).total_seconds() / 3600
    return "cooling" if falling and hours <= 24 else "too-warm"


def _hours_to_zero(cycles: Sequence[Cycle], stays: Sequence[Sequence[Reading]]) -> float | None:
    """Return how long after it went in the bag was first read at 0 °C or below, in hours; None if it never was."""
    if not cycles or not stays[-1]:
        return None
    first = next((each.at for each in stays[-1] if each.celsius <= 0), None)
    return None if first is None else (first - cycles[-1].went_in).total_seconds() / 3600
