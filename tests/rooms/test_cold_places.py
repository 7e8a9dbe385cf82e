"""Cold places: saying what one is, what is judged, taking out, and the clock of warming up."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from archive import extend
from archive.access.models import ChangeSet
from archive.access.undo import undo
from archive.boxes.actions import add_box, move
from conservation.housing.models import StandingPlace
from conservation.rooms.cold import actions
from conservation.rooms.cold.models import ColdPlace, ColdTrip

pytestmark = pytest.mark.django_db
READY = {"appliance": "freezer", "frost_free": True, "no_food": True, "temperature_c": -18.0}


@pytest.fixture
def freezer(keeper: Any) -> ColdPlace:
    values = {**READY, "measured_on": timezone.localdate()}
    return actions.add_cold_place(keeper, "Small freezer", None, values)


def _sheet(client: Any, address: str, **values: Any) -> Any:
    form_id = re.search(r'name="form_id" value="([^"]+)"', client.get(address).content.decode())
    assert form_id
    return client.post(address, {"form_id": form_id[1], **values})


def test_a_new_cold_place_is_a_node_of_the_tree_and_housing_knows_it(as_keeper: Any, keeper: Any) -> None:
    room = add_box(keeper, {"title": "Pantry", "level": "room"})
    answer = _sheet(
        as_keeper, reverse("rooms:cold_add"), title="Film refrigerator", inside=room.number, appliance="refrigerator",
        frost_free="yes", no_food="on", temperature_c="4,5",
    )  # fmt: skip
    place = ColdPlace.objects.get()
    assert answer.status_code == 302 and place.box.inside == room and place.box.level == "furniture"
    assert (place.frost_free, place.no_food, place.temperature_c) == (True, True, 4.5)
    assert place.measured_on == timezone.localdate()
    assert StandingPlace.objects.get(box=place.box).location == "refrigerator"
    assert "Ready for film and colour" in as_keeper.get(answer.url).content.decode()
    undo(ChangeSet.objects.latest("pk"), keeper)
    assert not ColdPlace.objects.exists()


def test_nothing_typed_is_lost_and_a_warm_freezer_is_refused(as_keeper: Any) -> None:
    answer = _sheet(
        as_keeper, reverse("rooms:cold_add"), title="Old chest", appliance="freezer", temperature_c="180", note="Loud."
    )
    page = answer.content.decode()
    assert answer.status_code == 422 and "error-summary" in page and "Old chest" in page and "Loud." in page
    assert not ColdPlace.objects.exists()


def test_fahrenheit_where_the_keeper_measures_so(as_keeper: Any, freezer: ColdPlace) -> None:
    from archive.preferences.actions import begin_with

    begin_with({"units": "inch"})
    address = reverse("rooms:cold_say", args=[freezer.box.public_id])
    page = as_keeper.get(address).content.decode()
    assert 'value="-0.4"' in page and "°F" in page
    sheet = {"appliance": "freezer", "frost_free": "yes", "no_food": "on", "measured_on": str(freezer.measured_on)}
    _sheet(as_keeper, address, temperature_c="-0.4", **sheet)
    freezer.refresh_from_db()
    assert freezer.temperature_c == -18.0  # what was shown rounded and sent back stays what it was
    _sheet(as_keeper, address, temperature_c="-4", **sheet)
    freezer.refresh_from_db()
    assert freezer.temperature_c == pytest.approx(-20)


def test_a_day_to_come_and_an_hour_that_comes_twice_are_refused_in_words(
    as_keeper: Any, keeper: Any, freezer: ColdPlace, make_thing: Any
) -> None:
    """A thermometer read next year would not be asked for again; 2:30 came twice in Berlin on 26 October 2025."""
    move(keeper, [make_thing("Slides", kind_code="mounted-slide")], [], freezer.box)
    later = timezone.localdate() + timedelta(days=1)
    say = reverse("rooms:cold_say", args=[freezer.box.public_id])
    answer = _sheet(as_keeper, say, appliance="freezer", measured_on=later.isoformat())
    assert answer.status_code == 422 and "still to come" in answer.content.decode()
    out = reverse("rooms:cold_out", args=[freezer.box.public_id])
    answer = _sheet(as_keeper, out, package="packet", out_at="2025-10-26T02:30")
    assert "came twice or not at all" in answer.content.decode() and not ColdTrip.objects.exists()


def test_what_must_not_be_there_is_said_first(as_keeper: Any, keeper: Any, freezer: ColdPlace, make_thing: Any) -> None:
    slide = make_thing("Slides of the sea", kind_code="mounted-slide")
    plate = make_thing("Plate of the mill", kind_code="glass-negative")
    move(keeper, [slide, plate], [], freezer.box)
    page = as_keeper.get(reverse("rooms:cold_place", args=[freezer.box.public_id])).content.decode()
    must = page.index("This must come out")
    assert must < page.index("Plate of the mill") < page.index("What is in it") < page.index("Slides of the sea")
    panels = as_keeper.get(plate.get_absolute_url()).content.decode()
    assert "It must come out of the cold" in panels
    assert "It lives in the cold" in as_keeper.get(slide.get_absolute_url()).content.decode()


def test_taking_out_shows_the_clock_and_becomes_a_job(
    as_keeper: Any, keeper: Any, freezer: ColdPlace, make_thing: Any
) -> None:
    slide = make_thing("Slides of the sea", kind_code="mounted-slide", count=40)
    move(keeper, [slide], [], freezer.box)
    address = reverse("rooms:cold_out", args=[freezer.box.public_id])
    asked = as_keeper.get(f"{address}?what=thing+{slide.public_id}").content.decode()
    assert re.search(r'value="packet"[^>]*checked', asked)
    # 1 July 2026, 10:00 in Berlin is 08:00 UTC; a packet stays shut for 24 hours.
    sheet = {"what": f"thing {slide.public_id}", "package": "packet", "out_at": "2026-07-01T10:00", "why": "for Ida"}
    answer = _sheet(as_keeper, address, **sheet)
    trip = ColdTrip.objects.get()
    assert answer.url == reverse("rooms:cold_trip", args=[trip.public_id])
    assert trip.out_at.isoformat() == "2026-07-01T08:00:00+00:00" and trip.opens_at - trip.out_at == timedelta(hours=24)
    again = _sheet(as_keeper, address, **sheet)
    assert again.status_code == 422 and ColdTrip.objects.count() == 1
    page = as_keeper.get(answer.url).content.decode()
    assert '<p class="warming-clock">Now</p>' in page and "for Ida" in page
    job = next(each for each in extend.jobs(keeper) if each.sort == "rooms.cold_trip")
    assert job.tier == 2 and "may be opened" in job.words
    _sheet(as_keeper, answer.url, what="opened")
    trip.refresh_from_db()
    assert trip.opened_at is not None
    assert "Pack" in next(each for each in extend.jobs(keeper) if each.sort == "rooms.cold_trip").words
    _sheet(as_keeper, answer.url, what="back")
    trip.refresh_from_db()
    assert trip.back_at is not None
    assert not [each for each in extend.jobs(keeper) if each.sort == "rooms.cold_trip"]
    assert "for Ida" in as_keeper.get(reverse("rooms:cold_place", args=[freezer.box.public_id])).content.decode()


def test_still_cold_says_when(as_keeper: Any, keeper: Any, freezer: ColdPlace, make_thing: Any) -> None:
    film = make_thing("Reel", kind_code="cine-acetate", made_text="1960")
    move(keeper, [film], [], freezer.box)
    now = timezone.now()
    values = {"package": "box", "out_at": now, "opens_at": now + timedelta(hours=48), "why": ""}
    trip = actions.take_out(keeper, freezer, film, values)
    page = as_keeper.get(reverse("rooms:cold_trip", args=[trip.public_id])).content.decode()
    assert "Not to be opened before" in page and "still 48 h 00 min" in page and page.count("do-next") == 0
    assert "Keep" in next(each for each in extend.jobs(keeper) if each.sort == "rooms.cold_trip").words
    with pytest.raises(actions.OutAlready):
        actions.take_out(keeper, freezer, film, values)
    with pytest.raises(actions.NotOut):
        actions.note_opened(keeper, trip, now - timedelta(hours=1))
    actions.note_opened(keeper, trip, now + timedelta(hours=1))
    assert (
        "It was opened too early" in as_keeper.get(reverse("rooms:cold_trip", args=[trip.public_id])).content.decode()
    )


def test_the_procedure_names_hazards_first_and_both_times(as_keeper: Any) -> None:
    page = as_keeper.get(reverse("rooms:cold_how")).content.decode()
    main = page[page.index("<h1>") :]
    assert main.index("nitrate") < main.index("What may go in")
    assert "half an hour" in main and "24 to 48 hours" in main and "48 hours" in main
    assert "Glass plate" in main or "Glass negative" in main
    assert main.count("<svg") >= 8


def test_reading_the_thermometer_is_a_job_when_it_is_time(keeper: Any, freezer: ColdPlace) -> None:
    def checks() -> list[Any]:
        return [each for each in extend.jobs(keeper) if each.sort == "rooms.cold_check"]

    assert not checks()
    actions.say_it_is_cold(keeper, freezer.box, {"measured_on": timezone.localdate() - timedelta(days=31)})
    assert len(checks()) == 1


def test_no_longer_cold_keeps_what_is_in_it(as_keeper: Any, keeper: Any, freezer: ColdPlace, make_thing: Any) -> None:
    slide = make_thing("Slides", kind_code="mounted-slide")
    move(keeper, [slide], [], freezer.box)
    address = reverse("rooms:cold_place", args=[freezer.box.public_id])
    form_id = re.search(r'name="form_id" value="([^"]+)"', as_keeper.get(address).content.decode())
    assert form_id
    as_keeper.post(reverse("rooms:cold_not", args=[freezer.box.public_id]), {"form_id": form_id[1]})
    slide.refresh_from_db()
    assert not ColdPlace.objects.exists() and slide.box == freezer.box
    assert StandingPlace.objects.get(box=freezer.box).location == ""


def test_others_see_nothing_of_it(as_relative: Any, as_visitor: Any, freezer: ColdPlace) -> None:
    for client in (as_relative, as_visitor):
        for name in ("cold", "cold_how", "cold_add"):
            assert client.get(reverse(f"rooms:{name}")).status_code in (302, 404)
        assert client.get(reverse("rooms:cold_place", args=[freezer.box.public_id])).status_code in (302, 404)
    page = as_relative.get(freezer.box.get_absolute_url()).content.decode()
    assert reverse("rooms:cold") not in page


@pytest.mark.parametrize("name", ["cold", "cold_place"])
def test_the_number_of_queries_does_not_grow(
    name: str, as_keeper: Any, keeper: Any, freezer: ColdPlace, make_thing: Any
) -> None:
    def count() -> int:
        args = [freezer.box.public_id] if name == "cold_place" else []
        with CaptureQueriesContext(connection) as seen:
            assert as_keeper.get(reverse(f"rooms:{name}", args=args)).status_code == 200
        return len(seen)

    def more(how_many: int) -> None:
        now = timezone.now()
        for n in range(how_many):
            film = make_thing(f"Film {n} of {how_many}", kind_code="cine-acetate", made_text="1960")
            move(keeper, [film], [], freezer.box)
            values = {"package": "box", "out_at": now, "opens_at": now + timedelta(hours=48), "why": ""}
            actions.take_out(keeper, freezer, film, values)
            actions.add_cold_place(keeper, f"Freezer {n} of {how_many}", None, READY)

    more(1)
    count()
    few = count()
    more(4)
    assert count() == few
