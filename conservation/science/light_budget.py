"""What light a thing may have in a year: the published limit or the chosen fade policy, whichever is stricter."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from conservation.science.light import Sensitivity, by_blue_wool, fade_dose_lxh, series
from conservation.science.sources import DATA, Citation

YEARS_PER_FADE = 50  # one just noticeable fade in 50 years, after a London museum (light.toml, policy)
DAYS = 365


@dataclass(frozen=True)
class Weeks:
    """How long a thing is shown at once, at least and at most, and rests after it; each with its source."""

    least: int
    most: int
    rest: int
    citations: dict[str, Citation]


@dataclass(frozen=True)
class Budget:
    """A year's light: both limits in lux hours (none where light does no harm), and the one that counts."""

    published_lxh: float | None
    policy_lxh: float | None
    annual_lxh: float | None
    governed_by: Literal["published", "policy", "nothing"]
    fade_lxh: float | None  # lux hours to one just noticeable fade, series A, of the least resistant blue wool


@dataclass(frozen=True)
class Preset:
    """A usual piece of work and its light."""

    code: str
    lux: float
    minutes: float
    times: int
    citation: Citation

    @property
    def lxh(self) -> float:
        """Lux hours in all."""
        return dose_lxh(self.lux, self.minutes, self.times)


def dose_lxh(lux: float, minutes: float, times: int = 1) -> float:
    """Return lux hours: lux × hours × how often (reciprocity)."""
    return lux * minutes / 60 * times


@cache
def _tables() -> dict[str, Any]:
    with (DATA / "light_budget.toml").open("rb") as file:
        return tomllib.load(file)


def budget(found: Sensitivity, years_per_fade: float, uv_filtered: bool) -> Budget:
    """Return what a thing may have in a year.

    ``years_per_fade`` is the years one just noticeable fade is spread over; with UV a fade comes sooner.
    """
    if not found.blue_wools:
        return Budget(None, None, None, "nothing", None)
    fade = min(fade_dose_lxh(each, uv_filtered) for each in found.blue_wools)
    policy = fade / years_per_fade
    published = None if found.annual_limit_lxh is None else float(found.annual_limit_lxh)
    if published is not None and published <= policy:
        return Budget(published, policy, published, "published", fade)
    return Budget(published, policy, policy, "policy", fade)


def weeks_of(responsivity: str) -> Weeks:
    """Return showing and rest of a class, in weeks."""
    row = _tables()["weeks"][responsivity]
    cited = {name: Citation(each["source"], each["locator"], each["status"]) for name, each in row["cited"].items()}
    return Weeks(row["min_weeks"], row["max_weeks"], row["rest_weeks"], cited)


@cache
def presets() -> tuple[Preset, ...]:
    """Return the usual pieces of work with light."""
    return tuple(
        Preset(code, row["lux"], row["minutes"], row["times"], Citation(row["source"], row["locator"], row["status"]))
        for code, row in _tables()["use"].items()
    )


def days_left(annual_lxh: float | None, used_lxh: float, lux: float, hours_per_day: float) -> float | None:
    """Return the days that are left of a year's light at a place; None where there is no end to them."""
    a_day = lux * hours_per_day
    if annual_lxh is None or a_day <= 0:
        return None
    return max(0.0, (annual_lxh - used_lxh) / a_day)


def overridden(found: Sensitivity, blue_wool: int | None) -> Sensitivity:
    """Return a sensitivity with the blue wool that the keeper says; what must not be shown stays so.

    The class, its limits and lux follow the blue wool named; a lux limit of the kind's own that is higher than the
    class allows (fibre silver gelatin) is given up.
    """
    if blue_wool is None:
        return found
    new = by_blue_wool(blue_wool)
    return Sensitivity(
        new.responsivity, new.blue_wools, new.lux_limit, new.annual_limit_lxh, found.shown_at_all, new.citations
    )


@dataclass(frozen=True)
class SeriesRow:
    """One blue wool in both printed series, in lux hours to one just noticeable fade, and by how much they differ."""

    blue_wool: int
    with_uv: float
    uv_filtered: float
    older: float
    differ_pct: float


def both_series() -> list[SeriesRow]:
    """Return both series side by side; A is used, B is the older one."""
    a, b = series("a"), series("b")
    assert a.with_uv is not None  # noqa: S101 - series A has both columns
    return [
        SeriesRow(n, a.with_uv[n - 1], a.uv_filtered[n - 1], b.uv_filtered[n - 1],
                  100 * (b.uv_filtered[n - 1] - a.uv_filtered[n - 1]) / a.uv_filtered[n - 1])
        for n in range(1, 9)
    ]  # fmt: skip


def series_citations() -> tuple[Citation, Citation]:
    """Return where series A and series B are from."""
    return series("a").citation, series("b").citation
