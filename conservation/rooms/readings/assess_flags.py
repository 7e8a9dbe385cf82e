"""Whether the air of its room does a thing harm, in a few words for a list."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from archive.kinds import KIND_CODES
from conservation.rooms.readings.queries import KindAir, RoomAir
from conservation.science.housing.climate import NOT_AT_HOME

FEW_DAYS = 14.0


def why_unhappy(air: RoomAir, kinds: Iterable[str], states: Sequence[str]) -> str:
    """Return the mark of a thing of some kinds (its own and its parts') in this air; nothing where it bears it.

    Two weeks of readings are needed. What may live at home while it is sound is marked once it no longer is.
    """
    if air.days < FEW_DAYS:
        return ""
    fits = [air.of_kind(code) for code in kinds if code in KIND_CODES]
    bad = [fit for fit in fits if fit.verdict == "unsuitable" and not (fit.home_ok and not NOT_AT_HOME & set(states))]
    if not bad:
        return ""
    worst = min(bad, key=lambda fit: fit.share_in_hard or 0.0)
    return f"{_way(worst)} where it is, by the readings"


def _way(fit: KindAir) -> str:
    ways = {
        "Too damp": fit.hours_too_damp,
        "Too warm": fit.hours_too_warm,
        "Too dry": fit.hours_too_dry,
        "Too cold": fit.hours_too_cold,
    }
    return max(ways, key=lambda way: ways[way] or 0.0)
