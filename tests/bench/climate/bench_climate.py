"""Ten years of ten-minute readings: seconds to read and to analyse, against a bare loop of `csv` in the same run.

    .venv/bin/python -m tests.bench.climate.bench_climate [rounds]

The bare loop does nothing but split rows with `csv` and turn each time and number into a value. Aims: reading with
storing at most 2.5 times the bare loop, analysis at most 1.5 s.
"""

from __future__ import annotations

import csv
import random
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from conservation.science.climate import analyse
from conservation.science.readings import Choices, read

ROWS = 525_600
AIM_READ_RATIO, AIM_ANALYSIS_S = 2.5, 1.5
KINDS = ("letter", "silver-gelatin-print", "colour-print", "wool-textile", "silver", "wooden-object")


def write(path: Path, line: str) -> None:
    """Write an invented house: seasons, days, weather; damp enough in winter for mould to be worked out."""
    chance = random.Random(20)
    start = datetime.fromisoformat("2016-01-01")
    warmth, damp = 0.0, 0.0
    with path.open("w") as file:
        file.write("Time;Temperature;Humidity\n" if ";" in line else "Time,Temperature,Humidity\n")
        for number in range(ROWS):
            season = (number % 52560) / 52560
            warmth = 0.999 * warmth + chance.gauss(0, 0.05)
            damp = 0.999 * damp + chance.gauss(0, 0.3)
            temperature = 15 - 6 * (abs(2 * season - 1) * 2 - 1) + warmth
            humidity = min(100.0, max(5.0, 68 + 12 * (abs(2 * season - 1) * 2 - 1) + damp))
            moment = start + timedelta(minutes=10 * number)
            numbers = (f"{temperature:.2f}", f"{humidity:.1f}")
            t, h = (text.replace(".", ",") for text in numbers) if ";" in line else numbers
            file.write(line.format(at=moment, t=t, h=h))


def bare(path: Path, delimiter: str, moment: Callable[[str], datetime], number: Callable[[str], float]) -> float:
    """Return seconds of the bare loop."""
    began = time.perf_counter()
    rows = []
    with path.open(newline="") as file:
        lines = csv.reader(file, delimiter=delimiter)
        next(lines)
        for row in lines:
            rows.append((moment(row[0]), number(row[1]), number(row[2])))
    assert len(rows) == ROWS
    return time.perf_counter() - began


def german(text: str) -> datetime:
    """Parse 03.02.2026 14:00 the quickest plain way."""
    return datetime(int(text[6:10]), int(text[3:5]), int(text[:2]), int(text[11:13]), int(text[14:16]))  # noqa: DTZ001


FILES: dict[str, tuple[str, str, Callable[[str], datetime], Callable[[str], float]]] = {
    "ISO times, commas": ("{at:%Y-%m-%d %H:%M:%S},{t},{h}\n", ",", datetime.fromisoformat, float),
    "day.month.year, decimal commas": (
        "{at:%d.%m.%Y %H:%M};{t};{h}\n",
        ";",
        german,
        lambda text: float(text.replace(",", ".")),
    ),
}


def main(rounds: int = 3) -> int:
    """Measure, print, and return 1 when an aim was missed."""
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        for name, (line, delimiter, moment, number) in FILES.items():
            path = Path(folder) / "readings.csv"
            write(path, line)
            _round(path, name, delimiter, moment, number, [])  # a warm disk and warm caches first
            best: list[tuple[float, float, float]] = []
            for _ in range(rounds):
                _round(path, name, delimiter, moment, number, best)
            loop, reading, analysis = (min(column) for column in zip(*best, strict=True))
            ratio = min(each[1] / each[0] for each in best)
            print(
                f"{name}: {ROWS:,} rows, bare loop {loop:.2f} s, read {reading:.2f} s "
                f"({ratio:.2f} times), analysed {analysis:.2f} s"
            )
            missed |= ratio > AIM_READ_RATIO or analysis > AIM_ANALYSIS_S
    return int(missed)


def _round(
    path: Path,
    name: str,
    delimiter: str,
    moment: Callable[[str], datetime],
    number: Callable[[str], float],
    into: list[tuple[float, float, float]],
) -> None:
    loop = bare(path, delimiter, moment, number)
    began = time.perf_counter()
    found = read(path, Choices(tz="Europe/Berlin"))
    reading = time.perf_counter() - began
    (series,) = found.series
    if found.refused or len(series) != ROWS:
        raise SystemExit(f"{name}: {len(series)} rows of {ROWS}, {found.refused[:3]}")
    began = time.perf_counter()
    analyse(series.times_s, series.temperature_c, series.relative_humidity_pct, KINDS)
    into.append((loop, reading, time.perf_counter() - began))


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 3))
