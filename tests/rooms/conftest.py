"""Rooms with sensors, and invented readings, for the tests of rooms."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from archive.boxes.actions import add_box

START = 1_735_689_600  # 1 January 2025, 0:00 UTC


@pytest.fixture
def room(keeper: Any) -> Any:
    return add_box(keeper, {"title": "Parlour", "level": "room"})


@pytest.fixture
def sensor(keeper: Any, room: Any) -> Any:
    from conservation.rooms.readings.actions import add_sensor

    return add_sensor(keeper, room, {"name": "Grey logger"})


@pytest.fixture
def lay(keeper: Any) -> Callable[..., Any]:
    """Import readings as an errand does once a file is read."""
    from archive.access.changes import changing
    from conservation.rooms.readings import store
    from conservation.rooms.readings.actions import lay_import, sum_up_stale
    from conservation.rooms.readings.models import ReadingImport

    def import_(sensor: Any, at: Any, warmth: Any, damp: Any, name: str = "made.csv") -> Any:
        with changing(keeper, "readings.import"):
            record = ReadingImport(file_name=name, created_by=keeper)
            record.save()
            lay_import(record, {sensor.pk: store.in_hundredths(at, warmth, damp)})
        sum_up_stale()
        return record

    return import_


def a_year(days: int = 365, step_s: int = 3600, warm: float = 18.0, damp: float = 50.0, swing: float = 4.0) -> Any:
    """Times, temperatures and humidities of an invented room up to yesterday: seasons and days, no chance in it."""
    import time

    last = int(time.time()) // 86400 * 86400
    at = np.arange(last - days * 86400, last, step_s, dtype=np.int64)
    season = np.cos(2 * np.pi * (at - START) / (365.25 * 86400))
    day = np.sin(2 * np.pi * at / 86400)
    return at, warm - swing * season + day, np.clip(damp + swing * season - 2 * day, 0, 100)
