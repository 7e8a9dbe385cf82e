"""How often a check is due in a room: the days at rest, moved along a ladder by what was found and what is known."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from conservation.science.figures import figures
from conservation.science.rounds.tables import Check, Step, ladder, steps
from conservation.science.sources import Citation

FINE_RUN = 3  # so many times fine in a row lengthen an interval; our default
_DAYS_TO_CALL_COOL = 30  # our default


@dataclass(frozen=True)
class Situation:
    """What is known of a check in a room. None where nothing was measured."""

    open_findings: int = 0
    found_lately: bool = False  # in the last 90 days
    risky_floor: bool = False
    threatened: bool = False  # the room holds what the check is about
    pests_near: bool = False  # a finding of the last 90 days on another check of the room tells of pests
    caught: bool = False  # a trap caught moths, beetles or larvae in the last 90 days
    damp: bool | None = None
    cool: bool | None = None
    fine_run: int = 0  # looks that were fine since the last finding


@dataclass(frozen=True)
class Reason:
    """One reason for an interval, in words, with the steps it moved it."""

    words: str
    steps: int
    citation: Citation


@dataclass(frozen=True)
class Interval:
    """How often: in days now, in days at rest, and why."""

    days: int
    rest_days: int
    reasons: tuple[Reason, ...]


def interval(check: Check, situation: Situation) -> Interval:
    """Return how often a check is due.

    The risks that apply add up their steps on the ladder; a run of fine looks lengthens an interval only where nothing
    shortens it. The result stays between the check's least and most.

    Returns:
        Days, with every reason that moved it and the one at rest first.
    """
    known = steps()
    applying = [known[code] for code in _codes(situation) if _touches(known[code], check)]
    if not any(each.steps < 0 for each in applying) and situation.fine_run >= FINE_RUN:
        applying.append(known["fine-so-far"])
    rungs = ladder()
    rung = rungs.index(check.days) + sum(each.steps for each in applying)
    lowest, highest = rungs.index(check.least), rungs.index(check.most)
    days = rungs[min(max(rung, lowest), highest)]
    reasons = [Reason(f"at rest every {check.days} days", 0, check.citation)]
    reasons += [Reason(each.because, each.steps, each.citation) for each in applying]
    return Interval(days, check.days, tuple(reasons))


def _codes(situation: Situation) -> list[str]:
    found = []
    if situation.open_findings:
        found.append("open-finding")
    elif situation.found_lately:
        found.append("lately-found")
    if situation.risky_floor:
        found.append("risky-floor")
    if situation.damp:
        found.append("damp-measured")
    if situation.threatened:
        found.append("threatened")
    if situation.pests_near:
        found.append("pests-near")
    if situation.caught:
        found.append("caught")
    if situation.cool:
        found.append("cool-measured")
    return found


def _touches(step: Step, check: Check) -> bool:
    return not step.topics or bool(step.topics & check.topics)


def judge_air(
    humidity_p95: float, temperature_max_c: float, mould_peak: float | None, days_covered: float
) -> tuple[bool, bool | None]:
    """Return whether a room was damp, and whether it stayed too cool for insects, by what was measured.

    Args:
        humidity_p95: % RH, exceeded a twentieth of the time.
        temperature_max_c: °C, the warmest reading.
        mould_peak: index of Hukka and Viitanen, 1 and more is growth that a microscope shows; None where not known.
        days_covered: of measuring; with fewer than 30 nobody can say that it stays cool.

    Returns:
        Damp: the mould index reached 1, or the humidity that damp-loving insects want was passed. Cool: None where
        not known. Thresholds are those of ``data/insects.toml``.
    """
    known = figures("insects")
    damp = (mould_peak is not None and mould_peak >= 1) or humidity_p95 >= known.value("damp_loving_from")
    cool = temperature_max_c < known.value("active_from") if days_covered >= _DAYS_TO_CALL_COOL else None
    return damp, cool


def due_on(last: date | None, every: Interval, today: date) -> date:
    """Return the day a check is due: its last day and the interval; what was never looked at is due today."""
    return today if last is None else last + timedelta(days=every.days)
