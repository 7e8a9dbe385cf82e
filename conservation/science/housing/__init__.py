"""Housing: what to put a thing in, how to lay and hold it, what never, what air it bears, and which hazards come first.

Sources: the rows of ``data/housing_rows.toml``, ``climate_limits.toml``, ``hazards.toml`` and ``verdicts.toml``, each
with its own key, locator and status.
"""

from __future__ import annotations

from functools import lru_cache

from conservation.science.housing.advice import Explanation, by_level, explain, work_out
from conservation.science.housing.climate import NO_ONE_CLIMATE, Limits, limits, limits_of
from conservation.science.housing.problem import Input
from conservation.science.housing.situation import look_at
from conservation.science.housing.tables import Handling, Verdict, care, carrying_route, handling, rows, verdicts

__all__ = [
    "NO_ONE_CLIMATE",
    "Explanation",
    "Handling",
    "Input",
    "Limits",
    "Verdict",
    "carrying_route",
    "explain",
    "flags",
    "handling_of",
    "limits",
    "limits_of",
    "sensitivity_of",
    "verdicts",
    "work_out",
]


def handling_of(kind: str) -> Handling:
    """Return how a kind of thing is carried."""
    return handling()[care()[kind].handling]


def sensitivity_of(kind: str) -> tuple[int, int, int, int]:
    """Return how sensitive a kind is, 0 to 3, to humidity, light, handling, and pests or pollution; our default."""
    return rows()[care()[kind].housing].sensitivity


@lru_cache(maxsize=20_000)
def flags(
    kind: str,
    states: tuple[str, ...] = (),
    parts: tuple[str, ...] = (),
    earliest: str | None = None,
    base: str | None = None,
    heavy_g: float | None = None,
) -> tuple[str | None, tuple[str, ...]]:
    """Return the stop level and the hazards of a thing, without the rest of the advice; quick, for long lists."""
    problem = Input.model_construct(
        kind=kind, states=list(states), parts=list(parts), base=base, weight_g=heavy_g, count=1, use="rare",
        made=_Earliest(earliest) if earliest else None,
    )  # fmt: skip
    found = look_at(problem)
    return found.stop_level, tuple(by_level(found))


class _Earliest:
    """A made date of which only the early end matters."""

    def __init__(self, earliest: str) -> None:
        self.earliest = earliest
