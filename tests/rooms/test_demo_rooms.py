"""The demo's rooms: built once, with readings that show a damp spell and a hot loft; the example file comes in."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from archive.boxes.actions import add_box
from conservation.rooms.readings.demo import add_rooms
from conservation.rooms.readings.models import ReadingImport, Sensor
from conservation.rooms.readings.queries import air_of_rooms
from tests.rooms.test_import import do_import, upload

pytestmark = pytest.mark.django_db


@pytest.fixture
def household() -> Any:
    from archive.demo import read_household

    return read_household()


def test_the_demos_rooms_are_built_once_and_tell_a_story(keeper: Any, household: Any) -> None:
    for title in {row["room"] for row in household["room_facts"]}:
        add_box(keeper, {"title": title, "level": "room"})
    add_rooms(household, keeper, lambda name, seed, title: None)
    add_rooms(household, keeper, lambda name, seed, title: None)
    assert Sensor.objects.count() == len(household["sensor"]) == ReadingImport.objects.count()
    airs = {Sensor.objects.get(pk=air.sensor_id).room.title: air for air in air_of_rooms().values()}
    assert len(airs) >= 4
    assert airs["Attic"].temperature.max > 28 and airs["Cellar"].answer["year"]["spells"]
    assert "Hall" not in airs and Sensor.objects.filter(room__title="Hall", placement="outdoors").exists()
    assert airs["Parlour"].answer["all"]["band"] and airs["Bedroom"].mould_peak is None


def test_the_example_file_is_understood_without_a_question(as_keeper: Any, sensor: Any) -> None:
    path = Path(settings.BASE_DIR) / "fixtures" / "readings" / "hall-three-weeks.csv"
    record = upload(as_keeper, path.read_bytes(), path.name)
    assert record.state == "asked" and not record.understood["questions"]
    do_import(as_keeper, record, sensor.public_id)
    assert record.added == 1006 and record.refused_count == 3
