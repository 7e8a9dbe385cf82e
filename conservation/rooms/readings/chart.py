"""Temperature and humidity as a drawing: numbers to the paths of an SVG. Pure; knows neither database nor page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class Point:
    """What was measured in one step of the chart; ``x`` in days since 1970-01-01 by the home's clock."""

    x: float
    t: tuple[float, float, float]  # least, mean, largest
    h: tuple[float, float, float]
    damp: bool = False
    mould: bool = False


@dataclass(frozen=True, slots=True)
class Tick:
    """A line of the grid with its words."""

    at: float
    words: str


@dataclass(frozen=True, slots=True)
class Panel:
    """One quantity: its ribbon between least and largest, its line of means, its best range."""

    name: str
    top: float
    bottom: float
    ribbon: str
    line: str
    ticks: list[Tick]
    band: tuple[float, float] | None  # y and height
    limit: float | None  # y of what is still borne


@dataclass(frozen=True, slots=True)
class Chart:
    """A drawing of one width."""

    width: int
    height: int
    left: int
    right: int
    panels: list[Panel]
    x_ticks: list[Tick]
    damp: list[tuple[float, float]]  # x and width of damp stretches
    mould: list[tuple[float, float]]
    strip: float  # y of the strip of damp stretches; that of mould is below it
    points: int

    @property
    def plot_width(self) -> int:
        """The width between the edges."""
        return self.right - self.left

    @property
    def strip_below(self) -> float:
        """The y of the strip of mould."""
        return self.strip + 11


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a chart shows beside the readings: best ranges and limits in the unit of the numbers."""

    t_band: tuple[float, float] | None = None
    h_band: tuple[float, float] | None = None
    t_limit: float | None = None
    h_limit: float | None = None
    t_unit: str = "°C"


WIDE, NARROW = (960, 470), (360, 470)


def draw(
    points: Sequence[Point], first: float, last: float, step: float, wanted: Wanted, size: tuple[int, int]
) -> Chart:
    """Draw readings between two days.

    Args:
        points: in order; a gap wider than three steps breaks the lines.
        first: the left edge, in days.
        last: the right edge, in days.
        step: the width of one point, in days.
        wanted: ranges and limits.
        size: width and height of the drawing.
    """
    width, height = size
    left, right = 46, width - 8
    strip = height - 46.0
    middle = strip / 2
    scale = (right - left) / max(last - first, 1e-9)

    def to_x(day: float) -> float:
        return left + (min(max(day, first), last) - first) * scale

    runs = _runs(points, 3 * step)
    temperature = _panel(
        f"Temperature ({wanted.t_unit})", runs, lambda p: p.t, to_x, (24, middle - 14), wanted.t_band, wanted.t_limit
    )
    humidity = _panel(
        "Relative humidity (%)", runs, lambda p: p.h, to_x, (middle + 22, strip - 10), wanted.h_band, wanted.h_limit
    )
    return Chart(
        width=width,
        height=height,
        left=left,
        right=right,
        panels=[temperature, humidity],
        x_ticks=_x_ticks(first, last, to_x, width < 500),
        damp=_stretches(points, step, to_x, lambda p: p.damp),
        mould=_stretches(points, step, to_x, lambda p: p.mould),
        strip=strip,
        points=len(points),
    )


def _runs(points: Sequence[Point], widest: float) -> list[list[Point]]:
    runs: list[list[Point]] = []
    for point in points:
        if runs and point.x - runs[-1][-1].x <= widest:
            runs[-1].append(point)
        else:
            runs.append([point])
    return runs


def _panel(
    name: str,
    runs: list[list[Point]],
    of: Callable[[Point], tuple[float, float, float]],
    to_x: Callable[[float], float],
    edges: tuple[float, float],
    band: tuple[float, float] | None,
    limit: float | None,
) -> Panel:
    values = [value for run in runs for point in run for value in of(point)]
    shown = [*values, *(band or ())] or [0.0, 1.0]
    low, high, step = _scale(min(shown), max(shown))
    top, bottom = edges

    def to_y(value: float) -> float:
        return round(bottom - (min(max(value, low), high) - low) / (high - low) * (bottom - top), 1)

    ribbons, lines = [], []
    for run in runs:
        xs = [round(to_x(point.x), 1) for point in run]
        if len(run) == 1:  # a single reading is a short stroke, so that it is seen
            y = to_y(of(run[0])[1])
            lines.append(f"M{xs[0] - 1.5},{y}H{xs[0] + 1.5}")
            continue
        upper = [f"{x},{to_y(of(point)[2])}" for x, point in zip(xs, run, strict=True)]
        lower = [f"{x},{to_y(of(point)[0])}" for x, point in zip(xs, run, strict=True)]
        ribbons.append(f"M{'L'.join(upper)}L{'L'.join(reversed(lower))}Z")
        lines.append("M" + "L".join(f"{x},{to_y(of(point)[1])}" for x, point in zip(xs, run, strict=True)))
    ticks = []
    value = low
    while value <= high + 1e-9:
        ticks.append(Tick(to_y(value), f"{value:g}"))
        value += step
    shown_band = None if band is None else (to_y(band[1]), round(to_y(band[0]) - to_y(band[1]), 1))
    shown_limit = to_y(limit) if limit is not None and low <= limit <= high else None
    return Panel(name, top, bottom, "".join(ribbons), "".join(lines), ticks, shown_band, shown_limit)


def _scale(low: float, high: float) -> tuple[float, float, float]:
    """Return a low and high edge and a step between them in round numbers."""
    span = max(high - low, 2.0)
    step = next(each for each in (1, 2, 5, 10, 20, 50, 100) if span / each <= 6)
    bottom = step * (low // step)
    top = step * -(-high // step)
    return float(bottom), float(top if top > bottom else bottom + step), float(step)


def _stretches(
    points: Sequence[Point], step: float, to_x: Callable[[float], float], marked: Callable[[Point], bool]
) -> list[tuple[float, float]]:
    found: list[list[float]] = []
    for point in points:
        if not marked(point):
            continue
        start, end = point.x - step / 2, point.x + step / 2
        if found and start - found[-1][1] < step / 2:
            found[-1][1] = end
        else:
            found.append([start, end])
    return [(round(to_x(start), 1), round(max(to_x(end) - to_x(start), 1.5), 1)) for start, end in found]


def _x_ticks(first: float, last: float, to_x: Callable[[float], float], narrow: bool) -> list[Tick]:
    """Return hours, days, months or years, as many as fit."""
    span = last - first
    if span <= 1.01:
        return [Tick(to_x(first + hour / 24), f"{hour}:00") for hour in range(0, 25, 6 if narrow else 3)]
    start, end = _day(first), _day(last)
    if span <= 8:
        return [
            Tick(to_x(first + n), f"{_day(first + n):%a} {_day(first + n).day}")
            for n in range(0, 7, 2 if narrow else 1)
        ]
    if span <= 32:
        return [Tick(to_x(first + n), str(_day(first + n).day)) for n in range(0, int(span), 7 if narrow else 3)]
    months = [date(year, month, 1) for year in range(start.year, end.year + 1) for month in range(1, 13)]
    months = [each for each in months if start <= each <= end]
    if len(months) > 30:
        every = max(1, (end.year - start.year) // (4 if narrow else 10) + 0)
        months = [each for each in months if each.month == 1 and (each.year - start.year) % every == 0]
        return [Tick(to_x((each - date(1970, 1, 1)).days), str(each.year)) for each in months]
    every = 3 if narrow or len(months) > 16 else 1
    return [
        Tick(
            to_x((each - date(1970, 1, 1)).days),
            f"{each:%b}" + (f" {each.year}" if each.month == 1 and not narrow else ""),
        )
        for number, each in enumerate(months)
        if number % every == 0
    ]


def _day(number: float) -> date:
    return date(1970, 1, 1) + timedelta(days=int(number))
