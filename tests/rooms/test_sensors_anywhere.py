"""Sensors in a cupboard, on a shelf and outdoors: each speaks for the air it stands in, and for no other."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from django.urls import reverse

from archive.boxes.actions import add_box, move
from conservation.housing.queries import air_where as air_of_thing
from conservation.rooms.living import assess
from conservation.rooms.living.queries import read_house
from conservation.rooms.readings.contents_queries import unmeasured_rooms
from conservation.rooms.readings.models import Sensor
from conservation.rooms.readings.queries import air_of
from tests.rooms.conftest import a_year

pytestmark = pytest.mark.django_db


def _add(client: Any, room: Any, **values: Any) -> Sensor:
    address = reverse("rooms:add_sensor", args=[room.public_id])
    found = re.search(r'name="form_id" value="([^"]+)"', client.get(address).content.decode())
    assert found
    answer = client.post(address, {"form_id": found[1], "placement": "free", **values})
    assert answer.status_code == 302, answer.content.decode()
    return Sensor.objects.latest("pk")


def _steady(warm: float, damp: float) -> Any:
    at, _, _ = a_year()
    return at, np.full(len(at), warm), np.full(len(at), damp)


def test_a_cupboard_with_its_own_sensor_has_its_own_air(
    as_keeper: Any, keeper: Any, room: Any, sensor: Any, lay: Callable[..., Any], make_thing: Callable[..., Any]
) -> None:
    cupboard = add_box(keeper, {"title": "Oak cupboard", "level": "furniture", "inside": room})
    shelf = add_box(keeper, {"title": "Upper shelf", "level": "shelf", "inside": cupboard})
    box = add_box(keeper, {"title": "Letters", "inside": shelf})
    inside, outside = make_thing("Letter"), make_thing("Poster")
    move(keeper, [inside], [], box)
    move(keeper, [outside], [], room)
    own = _add(as_keeper, room, name="Dial", stands_in=cupboard.public_id, placement="inner")
    assert own.stands_in == cupboard
    # With no other sensor it speaks for the room as well; with one in the room, for the cupboard alone.
    lay(own, *_steady(17, 45))
    alone = air_of(room)
    assert alone is not None and alone.sensor_id == own.pk
    lay(sensor, *_steady(21, 65))
    whole = air_of(room)
    assert whole is not None and whole.sensor_id == sensor.pk
    inside.refresh_from_db()
    outside.refresh_from_db()
    there, free = air_of_thing(inside), air_of_thing(outside)
    assert there is not None and free is not None
    assert there.relative_humidity_pct == (45, 45) and free.relative_humidity_pct == (65, 65)
    house = read_house(keeper)
    placed = assess.whole_house(house, keeper)
    humidity = {node.title: placed.place_of(node.pk) for node in house.nodes.values() if node.level != "box"}
    assert {title: place.air.mean_pct for title, place in humidity.items() if place} == {
        "Parlour": 65, "Oak cupboard": 45, "Upper shelf": 45,
    }  # fmt: skip
    panel = as_keeper.get(box.get_absolute_url()).content.decode()
    assert "45 to 45 % most of the time, by Dial" in panel
    # Carried to another room, what it told of the old one is not believed of the new one.
    attic = add_box(keeper, {"title": "Attic", "level": "room"})
    move(keeper, [], [cupboard], attic)
    house = read_house(keeper)
    place = assess.whole_house(house, keeper).place_of(shelf.pk)
    assert place is not None and place.air.evidence != "measured"


def test_a_sensor_outdoors_tells_how_cold_the_walls_were(
    as_keeper: Any, keeper: Any, room: Any, sensor: Any, lay: Callable[..., Any], make_thing: Callable[..., Any]
) -> None:
    """A wall of factor 0.7 between 18 °C and 2 °C has 2 + 0.7 × 16 = 13.2 °C inside; the air at 50 % has 68 % there.

    The humidity is that of the ratio of vapour pressures at saturation, 20.64 and 15.17 hPa (Alduchov & Eskridge 1996).
    """
    lay(sensor, *_steady(18, 50))
    address = reverse("rooms:numbers", args=[room.public_id])
    guessed = as_keeper.get(address).content.decode()
    assert "Nobody measured outdoors then" in guessed and "−5.0 °C outside" in guessed
    garden = add_box(keeper, {"title": "Garden room", "level": "room"})
    move(keeper, [make_thing("Poster")], [], garden)
    outdoors = _add(as_keeper, garden, name="Garden", placement="outdoors")
    lay(outdoors, *_steady(2, 85))
    air = air_of(room)
    assert air is not None and air.sensor_id == sensor.pk
    assert air_of(garden) is None and unmeasured_rooms(keeper, 3) == [garden]
    measured = as_keeper.get(address).content.decode()
    assert "2.0 °C outside, the mean of those days: 13.2 °C, 68 %" in measured and "−5.0 °C outside" not in measured


def test_where_a_sensor_stands_is_changed_and_cannot_be_two_places(as_keeper: Any, keeper: Any, room: Any) -> None:
    shelf = add_box(keeper, {"title": "Shelf", "level": "shelf", "inside": room})
    made = _add(as_keeper, room, name="Dial")
    address = reverse("rooms:sensor_change", args=[made.public_id])
    page = as_keeper.get(address).content.decode()
    form_id = re.search(r'name="form_id" value="([^"]+)"', page)
    assert form_id
    values = {"form_id": form_id[1], "opened_version": made.version, "name": "Dial", "stands_in": shelf.public_id}
    answer = as_keeper.post(address, {**values, "placement": "outdoors"})
    assert answer.status_code == 422 and "It cannot be outdoors and in a piece of furniture" in answer.content.decode()
    assert as_keeper.post(address, {**values, "placement": "inner"}).status_code == 302
    made.refresh_from_db()
    assert made.stands_in == shelf
    assert f'value="{shelf.public_id}" selected' in as_keeper.get(address).content.decode()
