"""The table of readings: laid over one another, taken back exactly, packed and unpacked, gone with their sensor."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from django.db import connection

from conservation.rooms.readings import store
from conservation.rooms.readings.actions import take_back
from conservation.rooms.readings.models import ImportedSeries, ReadingImport, SensorAir
from conservation.rooms.readings.queries import air_of, air_of_rooms
from tests.rooms.conftest import START, a_year

pytestmark = pytest.mark.django_db


def everything() -> bytes:
    """Every byte that both plain tables hold."""
    with connection.cursor() as cursor:
        found = []
        for sql in (
            "SELECT * FROM conservation_reading ORDER BY sensor_id, at",
            "SELECT * FROM conservation_dailyair ORDER BY sensor_id, day",
        ):
            cursor.execute(sql)
            found.append(cursor.fetchall())
    return repr(found).encode()


def _some(first: int, count: int, warm: float) -> Any:
    at = START + 600 * np.arange(first, first + count)
    return at, np.full(count, warm), 50 + np.arange(count) % 7


def test_the_table_is_without_row_ids_and_keyed_by_sensor_and_second() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT sql FROM sqlite_master WHERE name = 'conservation_reading'")
        text = cursor.fetchone()[0]
    assert "WITHOUT ROWID" in text and "PRIMARY KEY (sensor_id, at)" in text


def test_packing_loses_nothing() -> None:
    chance = np.random.default_rng(3)
    at = np.cumsum(chance.integers(1, 4_000_000_000, 500)) - 10**12
    readings = store.Stored(at, chance.integers(-4000, 8501, 500), chance.integers(0, 10001, 500))
    back = store.unpacked(store.packed(readings))
    for name in ("at", "temperature", "humidity"):
        assert np.array_equal(getattr(back, name), getattr(readings, name))


def test_importing_again_changes_nothing(sensor: Any, lay: Any) -> None:
    lay(sensor, *_some(0, 500, 20.0))
    before = everything()
    again = lay(sensor, *_some(0, 500, 20.0))
    assert everything() == before and (again.added, again.changed, again.same) == (0, 0, 500)
    assert ImportedSeries.objects.count() == 1


def test_overlapping_files_make_the_same_table_as_one(keeper: Any, room: Any, lay: Any) -> None:
    from conservation.rooms.readings.actions import add_sensor

    whole, parts = (add_sensor(keeper, room, {"name": name}) for name in ("whole", "parts"))
    lay(whole, *_some(0, 900, 20.0))
    at, warm, damp = _some(0, 900, 20.0)
    for part in (slice(600, 900), slice(0, 400), slice(300, 700)):
        lay(parts, at[part], warm[part], damp[part])
    a, b = store.readings_of(whole.pk), store.readings_of(parts.pk)
    assert all(np.array_equal(getattr(a, name), getattr(b, name)) for name in ("at", "temperature", "humidity"))


@pytest.mark.parametrize("first_back", [0, 1, 2])
def test_an_import_is_taken_back_exactly_whatever_came_since(
    keeper: Any, sensor: Any, lay: Any, first_back: int
) -> None:
    """Three overlapping imports with different values: without one of them the table is as if it had never been."""
    from conservation.rooms.readings.actions import sum_up_sensor

    files = [_some(0, 300, 20.0), _some(200, 300, 21.0), _some(100, 250, 22.0)]
    for number, file in enumerate(files):
        if number != first_back:
            lay(sensor, *file)
    without = everything()
    for record in ReadingImport.objects.all():
        take_back(keeper, record)
    assert store.span_of(sensor.pk)[0] == 0
    records = [lay(sensor, *file) for file in files]
    assert records[1].changed == 100 and len(records[2].overwritten) == 100
    take_back(keeper, records[first_back])
    sum_up_sensor(sensor.pk)
    assert everything() == without
    for number in {0, 1, 2} - {first_back}:
        take_back(keeper, ReadingImport.objects.get(pk=records[number].pk))
    assert everything() == b"[[], []]"


def test_readings_go_when_their_sensor_is_destroyed_for_good(keeper: Any, sensor: Any, lay: Any) -> None:
    from archive.access.actions import destroy, withdraw
    from archive.access.subjects import subject

    lay(sensor, *_some(0, 300, 20.0))
    withdraw(keeper, sensor, "broken")
    sensor.refresh_from_db()
    destroy(keeper, subject("sensors"), sensor, "it told nonsense")
    assert everything() == b"[[], []]" and not SensorAir.objects.exists() and not ImportedSeries.objects.exists()


def test_the_air_of_rooms_is_one_query_whatever_their_number(
    keeper: Any, room: Any, sensor: Any, lay: Any, django_assert_num_queries: Any
) -> None:
    from archive.boxes.actions import add_box
    from conservation.rooms.readings.actions import add_sensor

    lay(sensor, *a_year())
    lay(add_sensor(keeper, room, {"name": "behind a picture", "placement": "picture"}), *a_year(damp=70))
    for number in range(3):
        other = add_box(keeper, {"title": f"Room {number}", "level": "room"})
        lay(add_sensor(keeper, other, {"name": "logger"}), *a_year(days=60, warm=22, damp=60))
    with django_assert_num_queries(2):  # the settings and the summaries
        found = air_of_rooms()
    assert len(found) == 4 and found[room.pk].sensor == "Grey logger"
    air = air_of(room)
    assert (
        air is not None and air.days == pytest.approx(365, abs=0.1) and air.temperature.mean == pytest.approx(18, 0.01)
    )
    assert air.mould_peak == {1: 0, 2: 0, 3: 0, 4: 0} and air.of_kind("letter").verdict in {"suits", "watch"}


def test_days_are_those_of_the_home(sensor: Any, lay: Any) -> None:
    """30 March 2025 in Berlin had 23 hours, 26 October 25."""
    from datetime import UTC, datetime

    spring = datetime(2025, 3, 29, 23, tzinfo=UTC), 23, 20177
    autumn = datetime(2025, 10, 25, 22, tzinfo=UTC), 25, 20387
    for start, hours, day in (spring, autumn):
        at = int(start.timestamp()) + 3600 * np.arange(-24, 48)
        lay(sensor, at, np.full(72, 20.0), np.full(72, 80.0))
        found = {each.day: each for each in store.days_of(sensor.pk, day - 1, day + 1)}
        assert found[day].count == hours and found[day].damp_hours == hours
        assert found[day - 1].count == 24


def test_summing_up_that_is_cut_off_is_done_again_at_upkeep(
    sensor: Any, lay: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from conservation.rooms.readings import actions

    class Killed(BaseException):
        """As when the power goes."""

    def cut(*arguments: Any) -> Any:
        raise Killed

    lay(sensor, *_some(0, 300, 20.0))
    store.put_readings(sensor.pk, store.in_hundredths(*_some(300, 300, 25.0)))
    actions.note_stale([sensor.pk])
    with monkeypatch.context() as patched, pytest.raises(Killed):
        patched.setattr(actions, "sum_up", cut)
        actions.sum_up_stale()
    actions.sum_up_stale()
    kept = SensorAir.objects.get()
    assert kept.rows == 600 and kept.answer["all"]["temperature"]["max"] == 25 and not kept.stale
