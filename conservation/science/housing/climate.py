"""Climate limits of kinds, and whether a room suits them."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from archive.kinds import kind
from conservation.science.housing.problem import Room
from conservation.science.sources import DATA, Citation

Range = tuple[float, float]
HOME_BELOW_C = 16.0  # a kind whose best temperature ends below this may live at home, up to …
HOME_TEMPERATURE_C, HOME_RH_PCT = 20.0, 50.0
NOT_AT_HOME = frozenset({"vinegar-smell", "acrid-smell", "weeping", "tacky", "stuck"})
DAMP_RH_PCT = 65.0
NO_ONE_CLIMATE = "No one climate suits all of it."
_OURS = {
    f"{quantity}_{end}": f"{which} {words}"
    for quantity, words in (("temperature", "temperature"), ("rh", "humidity"))
    for end, which in zip(
        ("min", "max", "best", "best_low", "best_high"),
        ("lowest", "highest", "best", "lowest best", "highest best"),
        strict=True,
    )
}


@dataclass(frozen=True)
class Limits:
    """Limits of temperature (°C) and relative humidity (%): None is no limit."""

    code: str | None
    temperature_min_c: float | None
    temperature_best_c: Range | None
    temperature_max_c: float | None
    rh_min_pct: float | None
    rh_best_pct: Range | None
    rh_max_pct: float | None
    citations: tuple[Citation, ...] = ()

    @property
    def lives_cold(self) -> bool:
        return self.temperature_best_c is not None and self.temperature_best_c[1] < HOME_BELOW_C


NO_LIMITS = Limits(None, None, None, None, None, None, None)


@cache
def _file() -> dict[str, Any]:
    with (DATA / "climate_limits.toml").open("rb") as file:
        return tomllib.load(file)


@cache
def limits_of(code: str, row: str = "") -> Limits:
    """Return the limits of a climate code; humidity figures of a housing row replace those of the code."""
    if not code:
        return NO_LIMITS
    table = _file()[code]
    own = _file()["row"].get(row, {})
    citations = [Citation(table["source"], table["locator"], table["status"])]
    if table["ours"]:
        ours = ", ".join(_OURS[name] for name in table["ours"])
        citations.append(Citation("kistbook", f"table of air, {table['for']}: {ours}", "our default"))
    if own:
        citations.append(Citation(own["source"], own["locator"], own["status"]))

    def pair(name: str) -> Range:
        low, high = own.get(name, table[name])
        return float(low), float(high)

    def one(name: str) -> float | None:
        value = own.get(name, table.get(name))
        return None if value is None else float(value)

    return Limits(
        code,
        one("temperature_min_c"),
        pair("temperature_best_c"),
        one("temperature_max_c"),
        one("rh_min_pct"),
        pair("rh_best_pct"),
        one("rh_max_pct"),
        tuple(citations),
    )


def limits(kind_code: str) -> Limits:
    """Return the limits of a sound thing of a kind."""
    from conservation.science.housing.tables import care

    row = care()[kind_code]
    return limits_of(row.climate, row.housing)


def together(parts: Sequence[tuple[str, Limits]]) -> tuple[Limits, list[str]]:
    """Return the limits that suit several materials at once, and notes.

    Every minimum the highest, every maximum the lowest, best the overlap; the code is that of the material with the
    lowest maximum of humidity. Where nothing overlaps that material's limits hold, and a note names what they fail.
    """
    known = [(name, each) for name, each in parts if each.code is not None]
    if not known:
        return NO_LIMITS, []
    strictest = min(known, key=lambda pair: pair[1].rh_max_pct if pair[1].rh_max_pct is not None else 101.0)[1]
    everyone = [each for _, each in known]
    merged = replace(
        strictest,
        temperature_min_c=_highest([e.temperature_min_c for e in everyone]),
        temperature_best_c=_overlap([e.temperature_best_c for e in everyone]),
        temperature_max_c=_lowest([e.temperature_max_c for e in everyone]),
        rh_min_pct=_highest([e.rh_min_pct for e in everyone]),
        rh_best_pct=_overlap([e.rh_best_pct for e in everyone]),
        rh_max_pct=_lowest([e.rh_max_pct for e in everyone]),
        citations=tuple(dict.fromkeys(c for e in everyone for c in e.citations)),
    )
    if _holds_together(merged):
        return merged, []
    failed = [kind(name).name for name, each in known if not _fits(strictest, each)]
    note = f"{NO_ONE_CLIMATE} The limits of the most sensitive material are used"
    note += f"; they fail: {', '.join(failed)}." if failed else "."
    return replace(strictest, citations=merged.citations), [note]


def _highest(values: list[float | None]) -> float | None:
    return max((value for value in values if value is not None), default=None)


def _lowest(values: list[float | None]) -> float | None:
    return min((value for value in values if value is not None), default=None)


def _overlap(ranges: list[Range | None]) -> Range | None:
    known = [each for each in ranges if each is not None]
    low, high = max(each[0] for each in known), min(each[1] for each in known)
    return (low, high) if low <= high else None


def _holds_together(merged: Limits) -> bool:
    for low, best, high in (
        (merged.temperature_min_c, merged.temperature_best_c, merged.temperature_max_c),
        (merged.rh_min_pct, merged.rh_best_pct, merged.rh_max_pct),
    ):
        if best is None or (low is not None and low > best[1]) or (high is not None and high < best[0]):
            return False
    return True


def _fits(used: Limits, other: Limits) -> bool:
    """Say whether the best range used overlaps another material's best."""
    for best, theirs in (
        (used.temperature_best_c, other.temperature_best_c),
        (used.rh_best_pct, other.rh_best_pct),
    ):
        if best is not None and theirs is not None and (best[1] < theirs[0] or best[0] > theirs[1]):
            return False
    return True


def _ends(value: float | Range | None) -> Range | None:
    if value is None:
        return None
    return value if isinstance(value, tuple) else (value, value)


def is_damp(room: Room | None) -> bool:
    """Say whether a room is measured and damp at any time: above 65 % RH."""
    ends = _ends(room.relative_humidity_pct) if room else None
    return ends is not None and ends[1] > DAMP_RH_PCT


def is_measured_for_damp(room: Room | None) -> bool:
    """Say whether the humidity of the room is known."""
    return room is not None and room.relative_humidity_pct is not None


def judge(limits_: Limits, room: Room | None, home_ok: bool) -> tuple[str, list[str]]:
    """Return the verdict on a room (suits, watch, unsuitable, unmeasured) and the reasons in sentences."""
    temperature = _ends(room.temperature_c) if room else None
    humidity = _ends(room.relative_humidity_pct) if room else None
    if limits_.code is None or (temperature is None and humidity is None):
        return "unmeasured", []
    at_home = (
        home_ok
        and temperature is not None
        and humidity is not None
        and temperature[1] <= HOME_TEMPERATURE_C
        and humidity[1] <= HOME_RH_PCT
        and (limits_.rh_min_pct is None or humidity[0] >= limits_.rh_min_pct)
    )
    hottest = None if at_home else limits_.temperature_max_c
    reasons: list[str] = []
    worst = 0
    for name, unit, found, low, best, high in (
        ("temperature", " °C", temperature, limits_.temperature_min_c, limits_.temperature_best_c, hottest),
        ("humidity", " %", humidity, limits_.rh_min_pct, limits_.rh_best_pct, limits_.rh_max_pct),
    ):
        if found is None:
            reasons.append(f"The {name} is not measured.")
            worst = max(worst, 1)
            continue
        level, said = _judge_one(name, unit, found, low, best, high)
        worst = max(worst, level)
        reasons += said
    single = room is not None and (
        not isinstance(room.temperature_c, tuple) or not isinstance(room.relative_humidity_pct, tuple)
    )
    if worst == 0 and single:
        worst = 1
        reasons.append("A single reading tells little; watch it through the seasons.")
    over = limits_.temperature_max_c
    if at_home and worst < 2 and over is not None and temperature is not None and temperature[1] > over:
        reasons.append("Warmer than its limit, but as cool and dry as a home can be; a cold place would be better.")
    return ("suits", "watch", "unsuitable")[worst], reasons


def _judge_one(
    name: str, unit: str, found: Range, low: float | None, best: Range | None, high: float | None
) -> tuple[int, list[str]]:
    if high is not None and found[1] > high:
        return 2, [f"The {name} reaches {_beside(found[1], high)}{unit}; at most {high:g}{unit} is allowed."]
    if low is not None and found[0] < low:
        return 2, [f"The {name} falls to {_beside(found[0], low)}{unit}; at least {low:g}{unit} is needed."]
    if best is not None and (found[0] < best[0] or found[1] > best[1]):
        return 1, [f"The {name} is best between {best[0]:g} and {best[1]:g}{unit}."]
    return 0, [f"The {name} is in its best range."]


def _beside(found: float, limit: float) -> str:
    """Return a measured value in whole units; with a tenth where it would otherwise read as the limit itself."""
    return f"{found:.0f}" if round(found) != limit else f"{found:.1f}"
