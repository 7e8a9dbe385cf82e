"""Things → problems of the `housing` sum → advice in words for pages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from archive.extend import Flag
from conservation.science.housing import Input, explain, flags, work_out
from conservation.science.words import word

STOP_LEVELS = ("leave-and-call", "isolate-first")


@dataclass(frozen=True)
class Line:
    """One line of advice: what to do, in words, its drawing, and why."""

    label: str
    words: str
    drawing: str
    why: str
    source: str
    status: str


@dataclass(frozen=True)
class HousingAdvice:
    """What Kistbook computes about housing one thing; nothing of it is stored."""

    answer: dict[str, Any]
    lines: list[Line]
    blocked: bool  # a hazard of the first two levels comes before ordinary advice


def problem_of(thing: Any) -> Input:
    """Return a thing as the `housing` sum reads it."""
    states = list(thing.states) or ["sound"]
    earliest, latest = thing.made_earliest or None, thing.made_latest or None
    return Input(
        kind=thing.kind_code,
        states=states,
        parts=list(thing.parts),
        made={"earliest": earliest, "latest": latest} if earliest or latest else None,
        base=thing.film_base or None,
        width_mm=thing.width_mm,
        height_mm=thing.height_mm,
        depth_mm=thing.depth_mm,
        weight_g=thing.weight_g,
        count=thing.count,
        use=thing.use,
        strip_level=float(thing.strip_level) if thing.strip_level else None,
    )
