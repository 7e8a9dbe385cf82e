"""A stretch of time on a room's page: which days, the readings in it as points and as rows of a table, seasons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from archive.preferences.models import Preferences
from archive.preferences.units import fahrenheit
from conservation.rooms.readings import store
from conservation.rooms.readings.chart import NARROW, WIDE, Chart, Point, Wanted, draw
from conservation.rooms.readings.clock import DAY_S, day_number, day_numbered, local_of, start_of, zone_named

PERIODS = (("day", "Day"), ("week", "Week"), ("month", "Month"), ("year", "Year"), ("all", "All"))
DAMP_PCT = 75.0
_MOST_POINTS = 400
_MOULD_SEEN = 1.0
_DAMP_HOURS = 6.0


@dataclass(frozen=True)
class Period:
    """Some days, both included, and where its neighbours begin."""

    code: str
    first: date
    last: date
    words: str
    before: date | None
    after: date | None


def period_of(code: str, at: date, first_day: date, last_day: date) -> Period:
    """Return the day, week, month, year or all around a day, within what was measured."""
    at = min(max(at, first_day), last_day)
    if code == "day":
        first = last = at
        words = f"{at.day} {at:%B %Y}"
    elif code == "week":
        first = at - timedelta(days=at.weekday())
        last = first + timedelta(days=6)
        words = f"{first.day} {first:%B} to {last.day} {last:%B %Y}"
    elif code == "month":
        first = at.replace(day=1)
        last = (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
        words = f"{first:%B %Y}"
    elif code == "all":
        return Period("all", first_day, last_day, f"{first_day:%B %Y} to {last_day:%B %Y}", None, None)
    else:
        code = "year"
        last = at
        first = at - timedelta(days=364)
        words = f"{first.day} {first:%B %Y} to {last.day} {last:%B %Y}"
    step = timedelta(days=365) if code == "year" else timedelta(days=1)
    before = first - (timedelta(days=1) if code != "year" else timedelta(0))
    after = last + step
    return Period(
        code,
        first,
        last,
        words,
        before if first > first_day else None,
        min(after, last_day) if last < last_day else None,
    )


@dataclass(frozen=True)
class Row:
    """One row of the table behind the chart."""

    when: str
    t: tuple[str, str, str]
    h: tuple[str, str, str]
    damp: str


@dataclass(frozen=True)
class Season:
    """A quarter of the year in numbers."""

    name: str
    days: int
    t: str
    h: str
    damp: str
    ageing: str


@dataclass(frozen=True)
class Shown:
    """Everything a page shows of one stretch of time."""

    period: Period
    wide: Chart
    narrow: Chart
    table: list[Row]
    table_step: str
    has_damp: bool
    has_mould: bool
    summary: str


def shown(sensor_id: int, period: Period, kept: Preferences, mould_class: int, wanted: Wanted) -> Shown:
    """Return what a page shows of a sensor's readings in a period; days are read, or readings of a day or week."""
    inch = kept.units == Preferences.Units.INCH
    if period.code in ("day", "week"):
        points, step = _fine(sensor_id, period, kept)
    else:
        points, step = _by_day(sensor_id, period, mould_class)
    if inch:
        points = [Point(p.x, _all_f(p.t), p.h, p.damp, p.mould) for p in points]
        wanted = Wanted(
            None if wanted.t_band is None else (fahrenheit(wanted.t_band[0]), fahrenheit(wanted.t_band[1])),
            wanted.h_band,
            None if wanted.t_limit is None else fahrenheit(wanted.t_limit),
            wanted.h_limit,
            "°F",
        )
    edges = float(day_number(period.first)), float(day_number(period.last) + 1)
    rows, words = _table(points, period)
    return Shown(
        period=period,
        wide=draw(points, *edges, step, wanted, WIDE),
        narrow=draw(points, *edges, step, wanted, NARROW),
        table=rows,
        table_step=words,
        has_damp=any(p.damp for p in points),
        has_mould=any(p.mould for p in points),
        summary=_summary(points, period, wanted.t_unit),
    )


def _all_f(values: tuple[float, float, float]) -> tuple[float, float, float]:
    low, mean, high = values
    return fahrenheit(low), fahrenheit(mean), fahrenheit(high)


def _fine(sensor_id: int, period: Period, kept: Preferences) -> tuple[list[Point], float]:
    """Return the readings of a day or week, brought together to at most a few hundred points."""
    import numpy as np

    zone = zone_named(kept.zone)
    readings = store.readings_of(
        sensor_id, start_of(period.first, zone), start_of(period.last + timedelta(days=1), zone) - 1
    )
    if not len(readings):
        return [], 1 / 24
    days = (period.last - period.first).days + 1
    usual = float(np.median(np.diff(readings.at))) if len(readings) > 1 else 3600.0
    step_s = max(600.0 if days == 1 else 3600.0, usual)
    local = local_of(readings.at, zone)
    place = np.floor(local / step_s).astype(np.int64)
    # When clocks go back an hour of the day comes twice; both are drawn at their place on the clock.
    order = np.argsort(place, kind="stable")
    place = place[order]
    starts = np.flatnonzero(np.concatenate([[True], np.diff(place) != 0]))
    counts = np.diff(np.append(starts, len(place)))

    def three(values: Any) -> list[tuple[float, float, float]]:
        low, high = np.minimum.reduceat(values, starts), np.maximum.reduceat(values, starts)
        mean = np.add.reduceat(values, starts) / counts
        return list(zip(low.tolist(), mean.tolist(), high.tolist(), strict=True))

    xs = ((place[starts] + 0.5) * step_s / DAY_S).tolist()
    pairs = zip(xs, three(readings.temperature_c[order]), three(readings.humidity_pct[order]), strict=True)
    return [Point(x, t, h, damp=h[1] > DAMP_PCT) for x, t, h in pairs], step_s / DAY_S


def _by_day(sensor_id: int, period: Period, mould_class: int) -> tuple[list[Point], float]:
    days = store.days_of(sensor_id, day_number(period.first), day_number(period.last))
    step = max(1, -(-((period.last - period.first).days + 1) // _MOST_POINTS))
    found: list[Point] = []
    for start in range(0, len(days), step):
        part = days[start : start + step]
        count = sum(day.count for day in part)
        mould = [day.mould[mould_class - 1] or 0.0 for day in part]
        found.append(
            Point(
                part[0].day + min(step, part[-1].day - part[0].day + 1) / 2,
                (
                    min(day.t_min for day in part),
                    sum(day.t_mean * day.count for day in part) / count,
                    max(day.t_max for day in part),
                ),
                (
                    min(day.h_min for day in part),
                    sum(day.h_mean * day.count for day in part) / count,
                    max(day.h_max for day in part),
                ),
                damp=sum(day.damp_hours for day in part) >= _DAMP_HOURS * len(part),
                mould=max(mould) >= _MOULD_SEEN,
            )
        )
    return found, float(step)


def _summary(points: Sequence[Point], period: Period, unit: str) -> str:
    if not points:
        return f"There are no readings of {period.words}."
    t_low, t_high = min(p.t[0] for p in points), max(p.t[2] for p in points)
    h_low, h_high = min(p.h[0] for p in points), max(p.h[2] for p in points)
    return f"{period.words}: {t_low:.0f} to {t_high:.0f} {unit} and {h_low:.0f} to {h_high:.0f} % relative humidity."


def _table(points: Sequence[Point], period: Period) -> tuple[list[Row], str]:
    """Return the rows behind the chart: by the hour for a day, by the day for a week or month, else by the month."""
    from datetime import datetime

    groups: dict[str, list[Point]] = {}
    for point in points:
        moment = datetime(1970, 1, 1) + timedelta(days=point.x)  # noqa: DTZ001 - the home's own time
        if period.code == "day":
            key = f"{moment:%H}:00"
        elif period.code in ("week", "month"):
            key = f"{moment:%a} {moment.day} {moment:%B}"
        else:
            key = f"{moment:%B %Y}"
        groups.setdefault(key, []).append(point)
    rows = []
    for when, part in groups.items():
        damp = sum(point.damp for point in part) / len(part)
        rows.append(
            Row(
                when,
                _three([p.t for p in part], 1),
                _three([p.h for p in part], 0),
                "" if not damp else "all of it" if damp == 1 else f"{100 * damp:.0f} % of it",
            )
        )
    return rows, {"day": "Hour", "week": "Day", "month": "Day"}.get(period.code, "Month")


def _three(values: list[tuple[float, float, float]], digits: int) -> tuple[str, str, str]:
    low, high = min(each[0] for each in values), max(each[2] for each in values)
    mean = sum(each[1] for each in values) / len(values)
    return f"{low:.{digits}f}", f"{mean:.{digits}f}", f"{high:.{digits}f}"


_QUARTERS = (("Winter", (12, 1, 2)), ("Spring", (3, 4, 5)), ("Summer", (6, 7, 8)), ("Autumn", (9, 10, 11)))
_SOUTH = {"Winter": "Summer", "Spring": "Autumn", "Summer": "Winter", "Autumn": "Spring"}


def seasons(days: Sequence[store.Day], kept: Preferences) -> list[Season]:
    """Sum days up by season: what each was like, and how fast paper aged in it."""
    inch = kept.units == Preferences.Units.INCH
    found = []
    for name, months in _QUARTERS:
        part = [day for day in days if day_numbered(day.day).month in months]
        if not part:
            continue
        low, mean, high = (
            min(day.t_min for day in part),
            sum(day.t_mean for day in part) / len(part),
            max(day.t_max for day in part),
        )
        h_low, h_high = min(day.h_min for day in part), max(day.h_max for day in part)
        h_mean = sum(day.h_mean for day in part) / len(part)
        rate = sum(day.rate for day in part) / len(part)
        damp = sum(day.damp_hours for day in part)
        low, mean, high = (fahrenheit(v) for v in (low, mean, high)) if inch else (low, mean, high)
        unit = "°F" if inch else "°C"
        found.append(
            Season(
                _SOUTH[name] if kept.southern else name,
                len(part),
                f"{mean:.0f} {unit} ({low:.0f} to {high:.0f})".replace("-", "−"),
                f"{h_mean:.0f} % ({h_low:.0f} to {h_high:.0f})",
                "none" if damp < 1 else "1 hour" if round(damp) == 1 else f"{damp:.0f} hours",
                "just" if f"{rate:.2g}" == "1" else f"{rate:.2g} times",
            )
        )
    return found
