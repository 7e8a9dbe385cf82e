"""The demo's rooms: what they are like, sensors, and a year of invented readings made in code."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.boxes.models import Box, Level
from conservation.rooms.actions import say_what_it_is_like
from conservation.rooms.queries import facts_of
from conservation.rooms.readings import store
from conservation.rooms.readings.actions import add_sensor, lay_in
from conservation.rooms.readings.models import BY_HAND, Sensor

_HOUR, _DAY, _YEAR_DAYS = 3600, 86400, 365.25
_COLDEST_DAY = 20.0  # of the year


def add_rooms(household: Mapping[str, Any], keeper: Account, draw: Callable[[str, int, str], Any]) -> None:
    """Say what the demo's rooms are like and lay in their readings; what is there already stays as it is."""
    rooms = {room.title: room for room in Box.objects.filter(level=Level.ROOM).select_related("room_facts")}
    for row in household.get("room_facts", []):
        values = dict(row)
        room = rooms[values.pop("room")]
        if facts_of(room) is None:
            say_what_it_is_like(keeper, room, values)
    for number, row in enumerate(household.get("sensor", []), 1):
        room = rooms[row["room"]]
        name = row["name"] or BY_HAND
        if not Sensor.objects.filter(room=room, name=name).exists():
            _add_readings(keeper, room, name, row, number)


def _add_readings(keeper: Account, room: Box, name: str, row: Mapping[str, Any], seed: int) -> None:
    by_hand = not row["name"]
    placing = {"by_hand": True} if by_hand else {"placement": row["placement"], "where": row["where"]}
    readings = _invented(row, seed, 7 * _DAY if by_hand else _HOUR)
    # One act: an interrupted build never leaves a sensor without its readings.
    with changing(keeper, "readings.import"):
        sensor = add_sensor(keeper, room, {"name": name, **placing})
        lay_in(keeper, sensor, readings, file_name=row.get("file", ""), typed=by_hand)


def _invented(row: Mapping[str, Any], seed: int, step_s: int) -> store.Stored:
    """Make up the air of a room: the year, the day, some weather, and a wet spell where one is told."""
    import numpy as np

    chance = np.random.default_rng(seed)
    end = int(timezone.now().timestamp()) // step_s * step_s
    at = np.arange(end - row["days"] * _DAY, end, step_s, dtype=np.int64)
    warm, year_t, day_t, damp, year_h = row["air"]
    cold = np.cos(2 * np.pi * (at / _DAY % _YEAR_DAYS - _COLDEST_DAY) / _YEAR_DAYS)
    day = np.sin(2 * np.pi * (at % _DAY / _DAY - 0.375))
    steps = chance.normal(0, 1, (2, len(at)))
    # Weather comes and goes within some days: yesterday's is still felt today.
    memory = np.exp(-step_s / (2.5 * _DAY))
    weather = np.empty_like(steps)
    weather[:, 0] = steps[:, 0]
    for place in range(1, len(at)):
        weather[:, place] = memory * weather[:, place - 1] + (1 - memory**2) ** 0.5 * steps[:, place]
    temperature = warm - year_t * cold + day_t * day + 0.9 * weather[0]
    humidity = damp + year_h * cold - 1.5 * day_t * day + 3.0 * weather[1]
    if "wet" in row:
        ago, days, rise = row["wet"]
        into = (at - (end - ago * _DAY)) / _DAY
        humidity += np.where((into > 0) & (into < days), rise * np.sin(np.pi * np.clip(into / days, 0, 1)) ** 0.5, 0)
    return store.in_hundredths(at, temperature, np.clip(humidity, 8, 99.5))
