"""Rooms: the list, one room, what it is like."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from archive.boxes.actions import add_box
from conservation.rooms.models import RoomFacts
from conservation.rooms.queries import rooms_of
from conservation.science.words import codes

pytestmark = pytest.mark.django_db


@pytest.fixture
def room(keeper: Any) -> Any:
    return add_box(keeper, {"title": "Parlour", "level": "room"})


def _sheet(client: Any, address: str, **values: Any) -> Any:
    import re

    form_id = re.search(r'name="form_id" value="([^"]+)"', client.get(address).content.decode())
    assert form_id
    return client.post(address, {"form_id": form_id[1], **values})


def test_only_rooms_are_rooms(as_keeper: Any, keeper: Any, room: Any) -> None:
    box = add_box(keeper, {"title": "Shoe box", "inside": room})
    page = as_keeper.get(reverse("rooms:list")).content.decode()
    assert "Parlour" in page and "Shoe box" not in page
    assert as_keeper.get(reverse("rooms:room", args=[box.public_id])).status_code == 404


def test_an_empty_house_offers_one_thing_to_do(as_keeper: Any) -> None:
    page = as_keeper.get(reverse("rooms:list")).content.decode()
    assert page.count("do-next") == 1 and reverse("boxes:add") in page


def test_facts_are_kept_and_shown_in_words(as_keeper: Any, room: Any) -> None:
    address = reverse("rooms:facts", args=[room.public_id])
    answer = _sheet(
        as_keeper, address, opened_version="0", floor="cellar", outside_walls=["west", "north"], windows="0",
        water=["ground"], equipment=["dehumidifier"], width_mm="4000", length_mm="5200,5", note="Damp in March.",
    )  # fmt: skip
    assert answer.status_code == 302
    facts = RoomFacts.objects.get(box=room)
    assert (facts.floor, facts.outside_walls, facts.windows, facts.length_mm) == (
        "cellar",
        ["north", "west"],
        0,
        5200.5,
    )
    page = as_keeper.get(reverse("rooms:room", args=[room.public_id])).content.decode()
    assert "in the cellar" in page and "north, west" in page and "none" in page and "4000 × 5200.5 mm" in page


def test_an_answer_that_is_none_of_the_list_is_asked_again(as_keeper: Any, room: Any) -> None:
    address = reverse("rooms:facts", args=[room.public_id])
    answer = _sheet(as_keeper, address, opened_version="0", floor="moon", windows="many", note="Kept")
    assert answer.status_code == 422 and "Kept" in answer.content.decode()
    assert not RoomFacts.objects.exists()


def test_what_two_people_say_is_not_silently_overwritten(as_keeper: Any, room: Any) -> None:
    address = reverse("rooms:facts", args=[room.public_id])
    _sheet(as_keeper, address, opened_version="0", floor="ground")
    _sheet(as_keeper, address, opened_version="1", floor="upper", light="dim")
    answer = _sheet(as_keeper, address, opened_version="1", floor="cellar")
    assert answer.status_code == 409 and "upper" in answer.content.decode()
    assert RoomFacts.objects.get(box=room).floor == "upper"


def test_the_list_asks_the_database_a_constant_number_of_times(
    keeper: Any, room: Any, django_assert_num_queries: Any
) -> None:
    for number in range(5):
        add_box(keeper, {"title": f"Room {number}", "level": "room"})
    with django_assert_num_queries(1):
        assert len([(each.title, getattr(each, "room_facts", None)) for each in rooms_of(keeper)]) == 6


def test_every_list_about_rooms_has_words() -> None:
    for which in ("floor", "wall", "light", "heat", "water", "equipment"):
        assert len(codes(f"room_{which}")) >= 4
