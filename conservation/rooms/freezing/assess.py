"""Bags and their temperatures → what it amounts to, what comes next, and what must not go in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.utils import timezone

from archive.preferences.units import fahrenheit
from conservation.reasons import Reason, reason
from conservation.rooms.freezing.models import Freezing
from conservation.science import freezing as science
from conservation.science.sources import register


@dataclass(frozen=True)
class RefusalShown:
    """Why something must not be frozen, and what to do instead."""

    level: str
    because: str
    instead: str
    why: Reason


@dataclass(frozen=True)
class RegimeShown:
    """How far one way of treating has come."""

    name: str
    hours: float
    needed: float
    share: int
    held: int
    times: int
    met_at: datetime | None
    why: Reason


@dataclass(frozen=True)
class Point:
    """A reading in the chart."""

    x: float
    y: float


@dataclass(frozen=True)
class Chart:
    """Temperature over time as a line, with the limits of the ways of treating."""

    width: int
    height: int
    path: str
    points: tuple[Point, ...]
    limits: tuple[tuple[float, str], ...]
    spells: tuple[tuple[float, float], ...]
    begin: datetime
    end: datetime


@dataclass(frozen=True)
class Bag:
    """A treatment for a page: where it stands, in words, and what comes next."""

    freezing: Freezing
    phase: str  # packed, in, out, opened, over, stopped
    answer: science.Answer
    headline: str
    regimes: tuple[RegimeShown, ...]
    may_come_out: bool
    open_from: datetime | None
    open_safely: datetime | None
    read_due: datetime | None
    recheck_due: date | None
    slow: bool  # it took longer to reach 0 °C than it should
    treated: bool


def degrees(celsius: float, inch: bool) -> str:
    """Return a temperature in the keeper's unit, with a true minus."""
    value = fahrenheit(celsius) if inch else celsius
    return f"{value:.1f}".rstrip("0").rstrip(".").replace("-", "−") + (" °F" if inch else " °C")


def look_at(freezing: Freezing) -> Bag:
    """Return where a treatment stands; reads what `queries` prefetched, asks the database nothing."""
    stays = [science.Cycle(each.went_in, each.came_out) for each in freezing.stays.all()]
    readings = [science.Reading(each.at, each.celsius) for each in freezing.readings.all()]
    answer = science.assess(stays, readings)
    phase = _phase(freezing, stays)
    last_out = stays[-1].came_out if stays else None
    last_read = max([each.at for each in readings] + [stays[-1].went_in], default=None) if stays else None
    out = phase == "out" and last_out is not None
    return Bag(
        freezing=freezing,
        phase=phase,
        answer=answer,
        headline=_HEADLINES[phase] if phase in ("packed", "stopped", "over") else _headline(phase, answer),
        regimes=tuple(_regime(each) for each in answer.progress),
        may_come_out=phase == "in" and answer.standing == "done",
        open_from=last_out + timedelta(hours=science.rule("thaw_least")) if out and last_out else None,
        open_safely=last_out + timedelta(hours=science.rule("thaw_most")) if out and last_out else None,
        read_due=last_read + timedelta(hours=science.rule("read_every")) if phase == "in" and last_read else None,
        recheck_due=_recheck_due(freezing) if phase == "opened" else None,
        slow=answer.hours_to_zero is not None and answer.hours_to_zero > science.rule("quick"),
        treated=answer.standing == "done",
    )


def _recheck_due(freezing: Freezing) -> date | None:
    if freezing.opened_at is None:
        return None
    return timezone.localdate(freezing.opened_at) + timedelta(days=science.rule("recheck_after"))


def _phase(freezing: Freezing, stays: Sequence[science.Cycle]) -> str:
    if freezing.stopped_why:
        return "stopped"
    if freezing.is_over:
        return "over"
    if freezing.opened_at is not None:
        return "opened"
    if not stays:
        return "packed"
    return "in" if stays[-1].came_out is None else "out"


_HEADLINES = {
    "packed": "Packed, not in the freezer yet.",
    "stopped": "Stopped.",
    "over": "Over.",
}
_IN = {
    "no-readings": "In the freezer, but nobody has read the thermometer inside the bag: so far it is no treatment.",
    "cooling": "Still cooling down. The time has not begun.",
    "too-warm": "Not cold enough. This is no treatment: the insects only slow down.",
    "running": "Cold enough. The time is running.",
    "broken": "It was cold and has become too warm. The time begins anew when it is cold again.",
    "done": "Done. The bag may come out.",
}


def _headline(phase: str, answer: science.Answer) -> str:
    if phase == "in":
        return _IN[answer.standing]
    treated = answer.standing == "done"
    if phase == "out":
        if treated:
            return "Treated, and out. Keep it shut while it thaws."
        return "Out, but not treated yet. Keep it shut; after the thaw it may go in again."
    return "Opened, and treated." if treated else "Opened, but it was not treated: what was measured is not enough."


def _regime(each: science.Progress) -> RegimeShown:
    hours = each.regime.hours if each.met_at else min(each.hours, each.regime.hours)
    hours = min(hours, each.regime.hours)
    share = round(100 * hours / each.regime.hours)
    return RegimeShown(
        each.regime.name, round(hours, 1), each.regime.hours, share, each.held, each.regime.cycles, each.met_at,
        reason("Why so long.", each.regime.citation),
    )  # fmt: skip


def ways_to_treat() -> list[tuple[str, Reason]]:
    """Return what is a treatment, each with its source and status."""
    return [(each.name, reason("Why so long.", each.citation)) for each in science.regimes()]


def warmest(inch: bool) -> str:
    """Return the warmest temperature that treats, in the keeper's unit."""
    return degrees(science.warmest_c(), inch)


def procedure() -> list[tuple[str, Reason]]:
    """Return the steps of the procedure."""
    return [(words, reason(words, citation)) for words, citation in science.way()]


def disagreements() -> list[dict[str, Any]]:
    """Return where sources differ, and what is used."""
    return [
        {
            "topic": each["topic"], "used": each["used"],
            "positions": [
                {"say": p["say"], "source": register()[p["source"]].named}
                for p in each["positions"]
            ],
        }
        for each in science.disagreements()
    ]  # fmt: skip


def questions() -> list[tuple[str, str]]:
    """Return the questions no record answers."""
    return list(science.questions().items())


def refusals_of(thing: Any, answers: Iterable[str] = ()) -> list[RefusalShown]:
    """Return why a thing must not be frozen, or only on a conservator's word."""
    return [
        RefusalShown(each.level, each.because, each.instead, reason(f"{each.because}.", each.citation))
        for each in science.refusals(thing.kind_code, thing.states, thing.parts, answers)
    ]


# -- the chart -----------------------------------------------------------------------------------------------------

_WIDE, _NARROW, _HEIGHT, _LEFT, _BOTTOM = 640, 320, 240, 64, 24
_TOP_C, _LOW_C = 25.0, -40.0


def charts(freezing: Freezing, inch: bool) -> tuple[Chart, ...]:
    """Return the temperatures inside the bag as a line, for a desk and for a phone; none with one reading."""
    readings, stays = list(freezing.readings.all()), list(freezing.stays.all())
    return () if len(readings) < 2 else tuple(_chart(readings, stays, inch, width) for width in (_WIDE, _NARROW))


def _chart(readings: Sequence[Any], stays: Sequence[Any], inch: bool, width: int) -> Chart:
    begin: datetime = readings[0].at
    end: datetime = readings[-1].at
    span = max((end - begin).total_seconds(), 1.0)

    def across(at: datetime) -> float:
        share = (at - begin).total_seconds() / span
        return round(_LEFT + min(max(share, 0.0), 1.0) * (width - _LEFT - 10), 1)

    def down(celsius: float) -> float:
        share = (_TOP_C - min(max(celsius, _LOW_C), _TOP_C)) / (_TOP_C - _LOW_C)
        return round(8 + share * (_HEIGHT - _BOTTOM - 16), 1)

    points = tuple(Point(across(each.at), down(each.celsius)) for each in readings)
    limits = tuple((down(each), degrees(each, inch)) for each in (0.0, -18.0, -20.0, -30.0))
    spells = tuple(
        (across(stay.went_in), round(across(stay.came_out or end) - across(stay.went_in), 1)) for stay in stays
    )
    path = " ".join(f"{'M' if n == 0 else 'L'}{each.x} {each.y}" for n, each in enumerate(points))
    return Chart(width, _HEIGHT, path, points, limits, spells, begin, end)
