"""Housing advice by the measured air of the room where a thing lies (the rules of `work_out housing`)."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from archive.boxes.actions import add_box, move
from conservation.housing.queries import air_where
from tests.rooms.conftest import a_year

pytestmark = pytest.mark.django_db


@pytest.fixture
def print_(keeper: Any, room: Any, make_thing: Any) -> Any:
    """A photograph that is often looked at, in a box in the room."""
    box = add_box(keeper, {"title": "Box", "level": "box", "inside": room})
    thing = make_thing("Print", kind_code="silver-gelatin-print", use="weekly")
    move(keeper, [thing], [], box)
    thing.refresh_from_db()
    return thing


def test_where_nobody_measures_advice_stays_guarded(as_keeper: Any, print_: Any) -> None:
    assert air_where(print_) is None
    page = as_keeper.get(print_.get_absolute_url()).content.decode()
    assert "Where it lies now" not in page
    assert page.index("paper envelope") < page.index("a sleeve of clear polyester")


def test_a_dry_measured_room_allows_clear_sleeves(as_keeper: Any, sensor: Any, lay: Any, print_: Any) -> None:
    lay(sensor, *a_year(warm=17, damp=40, swing=2))
    air = air_where(print_)
    # Nine tenths of a year around 17 °C with seasons of 2 K and days of 1 K.
    assert air is not None and 14 < air.temperature_c[0] < 15.5 and 18.5 < air.temperature_c[1] < 20
    page = as_keeper.get(print_.get_absolute_url()).content.decode()
    assert "Where it lies now:" in page and "nine tenths of the year" in page and "does not suit it" not in page
    assert page.index("a sleeve of clear polyester") < page.index("paper envelope")
    assert "Where it lies:" in as_keeper.get(reverse("housing:sheet", args=[print_.public_id])).content.decode()


def test_a_damp_room_is_said_to_be_unsuitable_and_moving_comes_first(
    as_keeper: Any, as_visitor: Any, sensor: Any, lay: Any, print_: Any
) -> None:
    lay(sensor, *a_year(damp=80))
    page = as_keeper.get(print_.get_absolute_url()).content.decode()
    assert "does not suit it" in page
    assert "paper envelope" in page and "a sleeve of clear polyester" not in page
    from conservation.housing.assess import advise

    assert advise(print_, "metric", air_where(print_)).answer["actions"][0] == "move-room"


def test_the_air_costs_two_queries(sensor: Any, lay: Any, print_: Any) -> None:
    lay(sensor, *a_year(days=60))
    air_where(print_)
    with CaptureQueriesContext(connection) as queries:
        air_where(print_)
    assert len(queries) <= 3
