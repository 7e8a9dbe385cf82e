"""From stored readings to what they mean, and back to tables: the door to the sums of the air."""

from __future__ import annotations

from typing import Any

from conservation.rooms.readings.clock import local_of, zone_named
from conservation.rooms.readings.store import Stored
from conservation.science import room_air

RECIPE = room_air.RECIPE


def sum_up(readings: Stored, zone: str) -> tuple[dict[str, Any], list[Any]]:
    """Return what a sensor's readings mean, as kept beside them, and the columns of its days."""
    local = local_of(readings.at, zone_named(zone))
    answer, rows = room_air.summed_up(readings.at, local, readings.temperature_c, readings.humidity_pct)
    return answer, _columns(rows)


def _columns(rows: room_air.DayRows) -> list[Any]:
    import numpy as np

    days = rows.days
    hundredths = (
        days.temperature_min,
        days.temperature_mean,
        days.temperature_max,
        days.humidity_min,
        days.humidity_mean,
        days.humidity_max,
    )
    nothing = [None] * len(days.day)
    mould = [
        nothing
        if rows.mould is None
        else [None if np.isnan(value) else round(value * 1000) for value in rows.mould[number].tolist()]
        for number in (1, 2, 3, 4)
    ]
    return [
        days.day,
        days.count,
        *(np.rint(each * 100).astype(np.int64) for each in hundredths),
        rows.damp_minutes,
        rows.rate.tolist(),
        *mould,
    ]


def group_of(kind: str) -> str:
    """Return the kind that stands for all kinds with the same limits of air."""
    return room_air.group_of()[kind]
