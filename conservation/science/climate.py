"""What a room's readings mean: ageing, mould, swings, and who in the room is unhappy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Any, Literal
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from conservation.science import readings as files
from conservation.science.ageing import (
    ENERGY_CELLULOSE_KJ,
    ENERGY_SLOW_KJ,
    LEAST_RH_PCT,
    ageing_citations,
    mean_life_multiplier,
)
from conservation.science.air import air_citations, dew_point_c, surface_rh_pct
from conservation.science.figures import figures
from conservation.science.fluctuation import (
    LEAST_DAYS_BAND,
    LEAST_DAYS_CLASSES,
    Band,
    control_class_citations,
    control_class_shares,
    evenly,
    fluctuation_citations,
    humidity_band,
    moving_mean,
)
from conservation.science.mould import (
    CLASSES,
    LONGEST_HOURS_BETWEEN_READINGS,
    HourlyAir,
    MouldCourse,
    hourly_air,
    mould_citations,
    mould_course,
)
from conservation.science.problem import InputError, Kind, Problem
from conservation.science.readings.clock import zone_of
from conservation.science.room_fit import KindFit, hold_s, kind_fit
from conservation.science.sources import Citation, cited

Array = NDArray[np.float64]
Times = NDArray[np.int64]

_DAY_S = 86400
_GAP_INTERVALS = figures("readings").value("gap_intervals")
_MINUTES_FOR_HOURLY = 60.5


@dataclass(frozen=True, slots=True)
class Spread:
    """Mean, extremes and the middle nine tenths of some readings."""

    mean: float
    min: float
    max: float
    p05: float
    p95: float

    def as_answer(self) -> dict[str, float]:
        """Return the five numbers by name."""
        return {"mean": self.mean, "min": self.min, "max": self.max, "p05": self.p05, "p95": self.p95}


@dataclass(slots=True)
class Analysis:
    """What readings of one sensor mean. None is what cannot be known; `notes` say why."""

    count: int
    days: float = 0.0
    interval_s: float | None = None
    gaps: list[tuple[int, int]] = field(default_factory=list)  # last reading before, first after [epoch s]
    temperature: Spread | None = None
    humidity: Spread | None = None
    dew_point_mean_c: float | None = None
    life_ea70: float | None = None
    life_ea100: float | None = None
    mould: dict[int, MouldCourse] | None = None
    band: Band | None = None
    control_classes: dict[str, float | None] | None = None
    kinds: list[KindFit] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    citations: list[Citation] = field(default_factory=list)


def analyse(
    times_s: Times,
    temperature_c: Array,
    relative_humidity_pct: Array,
    kinds: Sequence[str] = (),
    surface_c: Array | float | None = None,
) -> Analysis:
    """Work out what the readings of one sensor mean.

    Parameters
    ----------
    times_s : array [epoch seconds], in order
    temperature_c, relative_humidity_pct : arrays [°C, %]
    kinds : codes of the kinds that live in this air
    surface_c : array or number [°C], optional; the coldest surface, for which mould is then worked out

    Returns
    -------
    Analysis
    """
    found = Analysis(len(times_s), kinds=[])
    if not len(times_s):
        found.kinds = [kind_fit(kind, temperature_c, relative_humidity_pct, times_s, temperature_c) for kind in kinds]
        found.notes.append("There are no readings, so nothing can be said.")
        return found
    hold, usual = hold_s(times_s, _GAP_INTERVALS)
    found.interval_s = usual or None
    found.days = (int(times_s[-1] - times_s[0]) + usual) / _DAY_S
    found.gaps = _gaps(times_s, usual)
    found.temperature, found.humidity = _spread(temperature_c), _spread(relative_humidity_pct)
    found.citations += [*air_citations(), *ageing_citations()]
    _add_dew_point(found, temperature_c, relative_humidity_pct)
    weights = hold if usual else None
    found.life_ea70 = mean_life_multiplier(temperature_c, relative_humidity_pct, ENERGY_SLOW_KJ, weights)
    found.life_ea100 = mean_life_multiplier(temperature_c, relative_humidity_pct, ENERGY_CELLULOSE_KJ, weights)
    if (relative_humidity_pct < LEAST_RH_PCT).any():
        found.notes.append(f"For ageing, air drier than {LEAST_RH_PCT:g} % was counted as {LEAST_RH_PCT:g} %.")
    _add_mould(found, times_s, temperature_c, relative_humidity_pct, surface_c)
    _add_swings(found, times_s, temperature_c, relative_humidity_pct)
    found.kinds = [kind_fit(kind, temperature_c, relative_humidity_pct, times_s, hold) for kind in kinds]
    _add_kinds(found)
    return found


def _spread(values: Array) -> Spread:
    p05, p95 = np.percentile(values, [5, 95])
    return Spread(float(values.mean()), float(values.min()), float(values.max()), float(p05), float(p95))


def _gaps(times_s: Times, usual: float) -> list[tuple[int, int]]:
    wide = np.flatnonzero(np.diff(times_s) > _GAP_INTERVALS * usual) if usual else np.array([], dtype=np.int64)
    return [(int(times_s[place]), int(times_s[place + 1])) for place in wide]


def _add_dew_point(found: Analysis, temperature_c: Array, relative_humidity_pct: Array) -> None:
    moist = relative_humidity_pct / 100 > 0  # the smallest numbers there are become 0 here
    if moist.any():
        found.dew_point_mean_c = float(dew_point_c(temperature_c[moist], relative_humidity_pct[moist]).mean())
    if not moist.all():
        found.notes.append("Readings of 0 % have no dew point and were left out of its mean.")


def _add_mould(
    found: Analysis,
    times_s: Times,
    temperature_c: Array,
    relative_humidity_pct: Array,
    surface_c: Array | float | None,
) -> None:
    longest = _GAP_INTERVALS * (found.interval_s or 0)
    if surface_c is None:
        air = hourly_air(times_s, temperature_c, relative_humidity_pct, longest)
    else:
        surface = np.broadcast_to(np.asarray(surface_c, dtype=np.float64), temperature_c.shape)
        air = hourly_air(times_s, surface, surface_rh_pct(temperature_c, relative_humidity_pct, surface), longest)
    if air is None:
        found.notes.append(
            f"For mould at least two readings within {LONGEST_HOURS_BETWEEN_READINGS} hours are needed; "
            "the readings are farther apart."
        )
        return
    found.mould = {number: mould_course(air, number) for number in CLASSES}
    found.citations += mould_citations()
    if surface_c is None:
        found.notes.append("Mould was worked out for the room’s air; a cold outside wall is damper than that.")
    _note_unknown_hours(found, air)


def _note_unknown_hours(found: Analysis, air: HourlyAir) -> None:
    unknown = int((~air.known).sum())
    if not unknown:
        return
    long_gaps = [end - start for start, end in found.gaps if end - start > LONGEST_HOURS_BETWEEN_READINGS * 3600]
    said = f"The mould index was held through {unknown} hours without readings."
    if long_gaps:
        said += f" Gaps longer than six hours: {len(long_gaps)}; in those mould may have grown unseen."
    found.notes.append(said)


def _add_swings(found: Analysis, times_s: Times, temperature_c: Array, relative_humidity_pct: Array) -> None:
    if found.days < LEAST_DAYS_CLASSES:
        found.notes.append(
            f"The control classes need {LEAST_DAYS_CLASSES:g} days of readings; there are {found.days:.0f}."
        )
    if found.days < LEAST_DAYS_BAND:
        found.notes.append(
            f"The band of swings needs {LEAST_DAYS_BAND:g} days of readings, thirteen months; "
            f"there are {found.days:.0f}."
        )
    if found.days < LEAST_DAYS_CLASSES:
        return
    longest = _GAP_INTERVALS * (found.interval_s or 0)
    air = hourly_air(times_s, temperature_c, relative_humidity_pct, longest)
    times, warmth, damp = evenly(times_s, temperature_c, relative_humidity_pct, air)
    warm_means, damp_means = moving_mean(times, warmth), moving_mean(times, damp)
    found.control_classes = control_class_shares(warmth, damp, warm_means, damp_means)
    found.citations += control_class_citations()
    if any(share is None for share in found.control_classes.values()):
        found.notes.append("Too many readings are missing for a 30-day mean, so classes AA to B are left open.")
    if found.days >= LEAST_DAYS_BAND:
        found.band = humidity_band(damp, damp_means)
        found.citations += fluctuation_citations()
        if found.band is None:
            found.notes.append("Too many readings are missing for a 30-day mean, so the band of swings is left open.")
        elif found.interval_s and found.interval_s / 60 > _MINUTES_FOR_HOURLY:
            found.notes.append("The band of swings asks for a reading an hour; with fewer it comes out too narrow.")


def _add_kinds(found: Analysis) -> None:
    for fit in found.kinds:
        found.citations += fit.citations
        if fit.verdict is None:
            found.notes.append(f"There are no climate limits for {fit.kind}.")
        if fit.home_ok:
            found.notes.append(
                f"{fit.kind}: warmer than its limit, but about as cool and dry as a home can be. "
                "While it is sound it may stay for now; a cold place would be better."
            )


# --- the topic ---


class Input(Problem):
    """Readings of one room, from a file or row by row, and the kinds of things that live there."""

    csv_path: str | None = None
    readings: list[tuple[str, float | None, float | None]] | None = Field(
        default=None, description="rows of time (ISO 8601), temperature and relative humidity in %"
    )
    day_first: bool | None = None
    unit: Literal["C", "F"] | None = None
    tz: str | None = None
    kinds: list[Kind] | None = Field(default_factory=list)


def work_out(problem: Input) -> dict[str, Any]:
    """Work out what a room's readings mean; see the topic ``climate``.

    Raises
    ------
    InputError
        Neither or both of file and rows are given, the file cannot be read, a time or the time zone is unknown.
    """
    zone = _zone(problem.tz)
    read = _read(problem)
    series = read.series[0] if read.series else None
    empty, no_times = np.array([], dtype=np.float64), np.array([], dtype=np.int64)
    found = analyse(
        series.times_s if series else no_times,
        series.temperature_c if series else empty,
        series.relative_humidity_pct if series else empty,
        problem.kinds or (),
    )
    notes = list(read.notes)
    if len(read.series) > 1:
        names = ", ".join(other.sensor or "without a name" for other in read.series[1:])
        notes.append(f"The file holds several sensors; this is {read.series[0].sensor}. The others are: {names}.")
    if read.refused_count > len(read.refused):
        notes.append(f"{read.refused_count} rows were refused; the first {len(read.refused)} are listed.")
    clock = _Clock(read.aware, zone)
    return {
        "readings": found.count,
        "from": clock.text(series.times_s[0]) if series else None,
        "to": clock.text(series.times_s[-1]) if series else None,
        "interval_minutes": None if found.interval_s is None else found.interval_s / 60,
        "gaps": [{"from": clock.text(start), "to": clock.text(end)} for start, end in found.gaps],
        # A row of a file with several sensors is refused for each of them; it is told once.
        "refused_rows": [
            {"line": line, "why": why} for line, why in dict.fromkeys((r.line, r.why) for r in read.refused)
        ],
        "questions": [question.text for question in read.questions],
        **_numbers(found),
        "sources": cited(found.citations),
        "notes": notes + found.notes,
    }


def _numbers(found: Analysis) -> dict[str, Any]:
    return {
        "temperature": found.temperature.as_answer() if found.temperature else None,
        "humidity": found.humidity.as_answer() if found.humidity else None,
        "dew_point": {"mean": found.dew_point_mean_c},
        "life_multiplier": {"ea70": found.life_ea70, "ea100": found.life_ea100},
        "mould": None
        if found.mould is None
        else {
            str(number): {
                "peak": course.peak,
                "now": course.now,
                "days_to_1": course.days_to_1,
                "days_to_3": course.days_to_3,
            }
            for number, course in found.mould.items()
        },
        "en15757": None
        if found.band is None
        else {
            "p07": found.band.p07,
            "p93": found.band.p93,
            "lower_pct": found.band.lower_pct,
            "upper_pct": found.band.upper_pct,
        },
        "control_classes": found.control_classes,
        "kinds": [
            {
                "kind": fit.kind,
                "share_in_best": fit.share_in_best,
                "share_in_hard": fit.share_in_hard,
                "hours_too_damp": fit.hours_too_damp,
                "hours_too_dry": fit.hours_too_dry,
                "hours_too_warm": fit.hours_too_warm,
                "hours_too_cold": fit.hours_too_cold,
                "verdict": fit.verdict,
            }
            for fit in found.kinds
        ],
    }


def _zone(name: str | None) -> ZoneInfo | None:
    if name is None:
        return None
    try:
        return zone_of(name)
    except ValueError:
        raise InputError("tz", name, 'a time zone such as "Europe/London" is accepted') from None


def _read(problem: Input) -> files.Readings:
    choices = files.Choices(problem.day_first, problem.unit, problem.tz)
    if problem.readings is not None:
        if problem.csv_path is not None:
            raise InputError("csv_path", problem.csv_path, "either csv_path or readings is accepted, not both")
        return files.from_rows(problem.readings, choices)
    if problem.csv_path is None:
        raise InputError("readings", None, "csv_path or readings is required")
    try:
        return files.read(problem.csv_path, choices)
    except files.NotReadings as error:
        return files.Readings(notes=[str(error)])
    except OSError as error:
        raise InputError("csv_path", problem.csv_path, f"a readable file is accepted ({error.strerror})") from None
    except ValueError as error:
        raise InputError("csv_path", problem.csv_path, f"a readable file is accepted ({error})") from None


@dataclass(frozen=True, slots=True)
class _Clock:
    """Writes moments: in the chosen zone, in UTC where only offsets are known, else as the clock showed them."""

    aware: bool
    zone: ZoneInfo | None

    def text(self, seconds: int) -> str:
        moment = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=int(seconds))
        if not self.aware:
            return moment.replace(tzinfo=None).isoformat()
        zone: tzinfo = self.zone or UTC
        return moment.astimezone(zone).isoformat()
