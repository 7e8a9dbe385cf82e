"""Files with one value a row: temperature and humidity of one moment are brought together."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from conservation.science.readings.clock import DAY_S
from conservation.science.readings.dates import NO_DATE
from conservation.science.readings.gather import Block, LongBlock
from conservation.science.readings.layout import Layout
from conservation.science.readings.model import Readings
from conservation.science.readings.quality import UNIT_CODE
from conservation.science.readings.words import column_of, quantity_of


def blocks_of(
    parts: list[LongBlock], days: NDArray[np.int64], result: Readings, layout: Layout
) -> dict[str, list[Block]]:
    """Pair temperature and humidity of every sensor by time, at most half an interval apart.

    Parameters
    ----------
    parts : the rows in long form
    days : epoch day of every date
    result : takes the rows that found no partner
    layout : the file's layout

    Returns
    -------
    dict of sensor → blocks, as the wide form gives them; the moment and the line are the temperature's
    """
    dates = np.concatenate([part.dates for part in parts])
    clock = np.concatenate([part.clock for part in parts])
    values = np.concatenate([part.values for part in parts])
    lines = np.concatenate([part.lines for part in parts])
    names = np.array([name for part in parts for name in part.channels])
    moments = clock if not len(days) else np.where(dates >= 0, days[dates] * float(DAY_S), 0) + clock
    moments = np.where((dates >= 0) & (days[dates] == NO_DATE), np.nan, moments) if len(days) else moments
    by_sensor: dict[str, dict[str, NDArray[np.bool_]]] = {}
    units: dict[str, int] = {}
    for name in np.unique(names):
        measured = quantity_of(str(name))
        if measured is None or measured[0] == "dew":
            continue
        quantity, sensor = measured
        which = by_sensor.setdefault(sensor, {})
        which[quantity] = which.get(quantity, np.zeros(len(names), dtype=bool)) | (names == name)
        if quantity == "temperature":
            units[sensor] = UNIT_CODE[column_of(str(name)).unit or layout.columns[layout.value_column or 0].unit]
    blocks: dict[str, list[Block]] = {}
    for sensor, which in by_sensor.items():
        warm = np.flatnonzero(which.get("temperature", np.zeros(len(names), dtype=bool)) & np.isfinite(moments))
        damp = np.flatnonzero(which.get("humidity", np.zeros(len(names), dtype=bool)) & np.isfinite(moments))
        partner = _nearest(moments[warm], moments[damp])
        met = partner >= 0
        taken = damp[partner[met]]
        _lonely(lines, warm[~met], "no humidity of the same time", result)
        _lonely(lines, np.setdiff1d(damp, taken), "no temperature of the same time", result)
        if met.any():
            here = warm[met]
            unit = units.get(sensor, 0)
            blocks[sensor] = [Block(dates[here], clock[here], values[here], values[taken], None, unit, lines[here])]
    if len(blocks) == 1:
        return {"": next(iter(blocks.values()))}
    return blocks


def _nearest(warm: NDArray[np.float64], damp: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return for each time in `warm` the place of its partner in `damp`, −1 without one; each serves once."""
    partner = np.full(len(warm), -1, dtype=np.int64)
    if not len(warm) or not len(damp):
        return partner
    order = np.argsort(damp, kind="stable")
    ordered = damp[order]
    steps = np.diff(np.unique(warm))
    reach = float(np.median(steps)) / 2 if len(steps) else 1800.0
    right = np.clip(np.searchsorted(ordered, warm), 0, len(ordered) - 1)
    left = np.maximum(right - 1, 0)
    nearer = np.where(np.abs(ordered[left] - warm) <= np.abs(ordered[right] - warm), left, right)
    close = np.abs(ordered[nearer] - warm) <= reach
    taken: set[int] = set()
    for place in np.flatnonzero(close):
        chosen = int(order[nearer[place]])
        if chosen not in taken:
            taken.add(chosen)
            partner[place] = chosen
    return partner


def _lonely(lines: NDArray[np.int64], places: NDArray[np.int64], why: str, result: Readings) -> None:
    for place in places:
        result.refuse(int(lines[place]), why)
