"""The page of a room, the list of rooms, the numbers, typing, marks and jobs."""

from __future__ import annotations

import re
import time
from typing import Any

import numpy as np
import pytest
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from archive.access.changes import changing
from archive.boxes.actions import add_box, move
from archive.boxes.models import RoughCount
from archive.things.models import Thing
from conservation.rooms.readings import actions, extension, periods, store
from conservation.rooms.readings.chart import NARROW, Point, Wanted, draw
from conservation.rooms.readings.models import ReadingImport, Sensor, SensorAir
from tests.rooms.conftest import a_year
from tests.rooms.test_import import form_id, send

pytestmark = pytest.mark.django_db


def _page(client: Any, room: Any, query: str = "", name: str = "rooms:room") -> str:
    answer = client.get(reverse(name, args=[room.public_id]) + query)
    assert answer.status_code == 200
    return str(answer.content.decode())


@pytest.fixture
def put(keeper: Any, make_thing: Any) -> Any:
    """Put new things into a room."""

    def into(room: Any, *kinds: str, **values: Any) -> list[Any]:
        things = [make_thing(f"{kind} {n}", kind_code=kind, **values) for n, kind in enumerate(kinds)]
        move(keeper, things, [], room)
        return things

    return into


def test_the_page_is_led_by_who_is_unhappy_and_what_would_help(
    as_keeper: Any, keeper: Any, room: Any, sensor: Any, lay: Any, put: Any
) -> None:
    put(room, "letter", "letter", "iron-or-steel", "ceramic")
    at, warm, damp = a_year(damp=62, swing=5)
    lay(sensor, at, warm, damp)
    page = _page(as_keeper, room)
    assert page.index("unhappy here") < page.index("<svg") and "the worst off: iron or steel" in page
    assert "Damper than it likes" in page and "What would help" in page and "drier" in page
    # 62 % is beyond the 55 % that iron bears: the share beyond is counted here from the readings themselves.
    beyond = 100 * np.mean(np.round(damp, 2) > 55)
    said = re.search(r"Iron or steel.*?Beyond what it bears (\d+) %", page, re.S)
    assert said and abs(int(said[1]) - beyond) <= 1
    assert page.count("do-next") == 1


def test_the_gain_of_drier_air_is_the_published_factor(sensor: Any, lay: Any) -> None:
    """Steady 20 °C and 50 %: 10 % drier lasts (50/40)^1.3 = 1.337 times as long (Michalski 2002), 5 °C cooler 2.04."""
    at = a_year()[0]
    lay(sensor, at, np.full(len(at), 20.0), np.full(len(at), 50.0))
    year = SensorAir.objects.get().answer["year"]
    assert year["life"]["ea100"] == pytest.approx(1, abs=1e-3)
    assert year["changes"]["drier-10"]["life"] == pytest.approx(1.3365, abs=1e-3)
    assert year["changes"]["cooler-5"]["life"] == pytest.approx(2.0380, abs=1e-3)


def test_days_kept_say_what_the_readings_say(sensor: Any, lay: Any) -> None:
    at, warm, damp = a_year(days=40, damp=74)
    lay(sensor, at, warm, damp)
    number = int(at[500] // 86400) + 1
    (day,) = store.days_of(sensor.pk, number, number)
    from conservation.rooms.readings.clock import local_of, zone_named

    mine = local_of(at, zone_named("Europe/Berlin")) // 86400 == number
    assert (day.count, day.t_max) == (mine.sum(), round(float(warm[mine].max()), 2))
    assert day.h_mean == pytest.approx(damp[mine].mean(), abs=0.01)
    assert day.damp_hours == pytest.approx((np.round(damp[mine], 2) > 75).sum(), abs=0.02)


def test_an_unmeasured_room_says_what_will_be_here(as_keeper: Any, room: Any, put: Any) -> None:
    put(room, "letter")
    page = _page(as_keeper, room)
    assert "Nobody has measured the air here" in page and page.count("do-next") == 1
    assert "must be measured" in _page(as_keeper, room, name="rooms:numbers")


def test_too_little_data_says_what_is_missing(as_keeper: Any, room: Any, sensor: Any, lay: Any, put: Any) -> None:
    put(room, "letter")
    lay(sensor, *a_year(days=6))
    page = _page(as_keeper, room)
    assert "Too little to judge by: 6 days" in page and "a whole year" in page
    numbers = _page(as_keeper, room, name="rooms:numbers")
    assert "This needs 60 days; there are 6" in numbers and "This needs 395 days" in numbers


def test_readings_once_a_week_give_no_mould_and_say_so(
    as_keeper: Any, room: Any, sensor: Any, lay: Any, put: Any
) -> None:
    put(room, "letter")
    lay(sensor, *a_year(days=200, step_s=7 * 86400))
    assert "too far apart to say anything about mould" in _page(as_keeper, room)
    assert "every few hours would do" in _page(as_keeper, room, name="rooms:numbers")


def test_the_numbers_name_source_and_status_and_label_memory(
    as_keeper: Any, room: Any, sensor: Any, lay: Any, put: Any
) -> None:
    put(room, "letter", "acetate-film")
    lay(sensor, *a_year(days=400))
    page = _page(as_keeper, room, name="rooms:numbers")
    for words in ("EN 15757", "class 1", "from memory", "second-hand", "our default", "confirmed", "Behind a picture"):
        assert words in page, words
    assert page.count("Where from?") == 10


@pytest.mark.parametrize("period", ["day", "week", "month", "year", "all", "nonsense"])
def test_every_stretch_is_drawn_with_a_table_behind(
    as_keeper: Any, room: Any, sensor: Any, lay: Any, period: str
) -> None:
    lay(sensor, *a_year(days=400, damp=74))
    page = _page(as_keeper, room, f"?period={period}&at=2026-02-31")
    assert page.count("air-chart") == 2 and "The same as a table" in page and 'class="chart-line"' in page


def test_the_page_reads_no_readings_but_of_the_day_or_week_it_shows(
    as_keeper: Any, keeper: Any, room: Any, sensor: Any, lay: Any, put: Any
) -> None:
    put(room, "letter", "wool-textile", "silver")
    lay(sensor, *a_year(days=400))
    counts = {}
    for period in ("year", "all", "week"):
        with CaptureQueriesContext(connection_of()) as caught:
            _page(as_keeper, room, f"?period={period}")
        raw = [each["sql"] for each in caught if "conservation_reading " in each["sql"]]
        assert len(raw) == (1 if period == "week" else 0)
        counts[period] = len(caught)
    put(room, *["book", "quilt", "glass", "leather", "map-or-plan"] * 4)
    for number in range(4):
        other = add_box(keeper, {"title": f"Room {number}", "level": "room"})
        lay(actions.add_sensor(keeper, other, {"name": "x"}), *a_year(days=30))
    with CaptureQueriesContext(connection_of()) as caught:
        _page(as_keeper, room, "?period=year")
    assert len(caught) == counts["year"]


def connection_of() -> Any:
    from django.db import connection

    return connection


def test_the_list_asks_a_constant_number_of_questions(
    as_keeper: Any, keeper: Any, room: Any, sensor: Any, lay: Any, put: Any
) -> None:
    put(room, "letter")
    lay(sensor, *a_year())
    with CaptureQueriesContext(connection_of()) as one:
        as_keeper.get(reverse("rooms:list"))
    for number in range(4):
        other = add_box(keeper, {"title": f"Room {number}", "level": "room"})
        lay(actions.add_sensor(keeper, other, {"name": "x"}), *a_year(days=60, warm=28, damp=66))
        put(other, "letter", "book")
    with CaptureQueriesContext(connection_of()) as many:
        page = as_keeper.get(reverse("rooms:list")).content.decode()
    assert len(many) == len(one) and re.search(
        r"Paper in Room \d ages about \d(\.\d)? times as fast as in Parlour", page
    )


def test_what_a_first_look_counted_roughly_counts_in_the_list_as_on_the_page(
    as_keeper: Any, keeper: Any, room: Any, sensor: Any, lay: Any, put: Any
) -> None:
    box = add_box(keeper, {"title": "Carton", "level": "box", "inside": room})
    put(box, "letter", "letter", "book")
    with changing(keeper, "boxes.count"):
        RoughCount(box=box, kind_code="letter", count=30).save()
        RoughCount(box=box, kind_code="book", count=1).save()
    lay(sensor, *a_year(warm=28, damp=66))
    # 30 letters, of which two are recorded, and the book, which was counted too.
    for page in (as_keeper.get(reverse("rooms:list")).content.decode(), _page(as_keeper, room)):
        assert re.search(r"(?:All 31|\d+ of 31) things", page)


# -- typing --------------------------------------------------------------------------------------------------------


def test_a_reading_is_typed_for_now_and_read_back(as_keeper: Any, room: Any) -> None:
    answer = send(as_keeper, reverse("rooms:type_reading"), room=room.public_id, temperature="18,5", humidity="52")
    assert answer.status_code == 302
    sensor = Sensor.objects.get()
    found = store.readings_of(sensor.pk)
    assert sensor.by_hand and (found.temperature.tolist(), found.humidity.tolist()) == ([1850], [5200])
    assert abs(int(found.at[0]) - time.time()) < 60


@pytest.mark.parametrize(
    ("units", "typed", "kept"),
    [("metric", "68 °F", 2000), ("metric", "−5", -500), ("inch", "68", 2000), ("inch", "20 °C", 2000)],
)
def test_a_unit_typed_behind_a_temperature_counts(as_keeper: Any, room: Any, units: str, typed: str, kept: int) -> None:
    from archive.preferences.actions import begin_with

    begin_with({"units": units})
    send(as_keeper, reverse("rooms:type_reading"), room=room.public_id, temperature=typed, humidity="52 %")
    assert store.readings_of(Sensor.objects.get().pk).temperature.tolist() == [kept]


def test_a_time_is_the_homes_own(as_keeper: Any, room: Any) -> None:
    send(
        as_keeper, reverse("rooms:type_reading"), room=room.public_id, temperature="18", humidity="50",
        at="2026-07-01T14:30",
    )  # fmt: skip
    assert store.readings_of(Sensor.objects.get().pk).at[0] == 1782909000  # 12:30 in UTC: summer time in Berlin


def test_fahrenheit_by_preference(as_keeper: Any, room: Any) -> None:
    from archive.preferences.actions import begin_with

    begin_with({"units": "inch"})
    send(as_keeper, reverse("rooms:type_reading"), room=room.public_id, temperature="68", humidity="50")
    assert store.readings_of(Sensor.objects.get().pk).temperature[0] == 2000
    page = _page(as_keeper, room)
    assert "°F" in page and "°C" not in page


@pytest.mark.parametrize(
    ("temperature", "humidity", "asked"),
    [
        ("68", "50", "Is it 68 °F? That would be 20.0 °C"),
        ("-20", "60", "very cold"),
        ("20", "8", "drier than almost any"),
        ("20", "100", "a wet sensor"),
    ],
)
def test_what_can_hardly_be_is_asked_and_kept_when_it_is_sure(
    as_keeper: Any, room: Any, temperature: str, humidity: str, asked: str
) -> None:
    values = {"room": room.public_id, "temperature": temperature, "humidity": humidity}
    answer = send(as_keeper, reverse("rooms:type_reading"), **values)
    page = answer.content.decode()
    assert answer.status_code == 422 and asked in page and f'value="{temperature}"' in page
    assert not Sensor.objects.exists()
    assert send(as_keeper, reverse("rooms:type_reading"), **values, sure="on").status_code == 302


def test_a_leap_from_the_reading_before_is_asked(as_keeper: Any, room: Any) -> None:
    send(as_keeper, reverse("rooms:type_reading"), room=room.public_id, temperature="18", humidity="50")
    answer = send(as_keeper, reverse("rooms:type_reading"), room=room.public_id, temperature="31", humidity="50")
    assert answer.status_code == 422 and "Did it change so much?" in answer.content.decode()


@pytest.mark.parametrize("typed", ["warm", "900", "", "nan"])
def test_what_cannot_be_is_refused_and_nothing_typed_is_lost(as_keeper: Any, room: Any, typed: str) -> None:
    answer = send(as_keeper, reverse("rooms:type_reading"), room=room.public_id, temperature=typed, humidity="51.5")
    assert answer.status_code == 422 and 'value="51.5"' in answer.content.decode()
    assert not ReadingImport.objects.exists()


# -- marks and jobs -----------------------------------------------------------------------------------------------


def test_marks_by_readings_ask_a_constant_number_of_questions(
    keeper: Any, room: Any, sensor: Any, lay: Any, put: Any, django_assert_num_queries: Any
) -> None:
    lay(sensor, *a_year(damp=72))
    box = add_box(keeper, {"title": "Box", "inside": room})
    few = put(box, "letter")
    many = put(box, "iron-or-steel", "stone-or-plaster", "wool-textile", "acetate-film", states=["vinegar-smell"])
    for things in (few, [*few, *many]):
        fresh = list(Thing.objects.filter(pk__in=[thing.pk for thing in things]))
        with django_assert_num_queries(3):  # where the boxes stand, the air there, the settings
            found = extension.flags(fresh, keeper)
        assert found[few[0].pk][0].words == "Too damp where it is, by the readings"
    assert many[0].pk in found


def test_jobs_for_dials_loggers_and_rooms_nobody_measures(
    keeper: Any, relative: Any, room: Any, sensor: Any, lay: Any, put: Any
) -> None:
    put(room, "letter")
    other = add_box(keeper, {"title": "Loft", "level": "room"})
    put(other, "letter", "book")
    at, warm, damp = a_year(days=60)
    lay(sensor, at - 40 * 86400, warm, damp)
    actions.type_reading(keeper, room, int(time.time()) - 9 * 86400, 18.0, 50.0)
    words = [job.words for job in extension.jobs(keeper)]
    assert words == [
        "Fetch the readings of Grey logger in Parlour",
        "Read temperature and humidity in Parlour",
        "Measure the air in Loft",
    ]
    assert not list(extension.jobs(relative)) and not list(extension.jobs(None))
    actions.retire(keeper, sensor, timezone.localdate())
    assert len(list(extension.jobs(keeper))) == 2


# -- the drawing ---------------------------------------------------------------------------------------------------


def test_a_gap_breaks_the_line_and_a_damp_stretch_is_marked() -> None:
    points = [Point(float(n), (15, 16, 18), (40, 50, 80), damp=n in (2, 3)) for n in (0, 1, 2, 3, 20, 21)]
    chart = draw(points, 0, 30, 1, Wanted(), NARROW)
    assert chart.panels[0].line.count("M") == 2 and len(chart.damp) == 1
    assert all(chart.left <= float(x) <= chart.right for x in re.findall(r"[ML](\d+\.?\d*),", chart.panels[1].line))


def test_a_week_in_which_clocks_change_is_drawn_by_the_homes_clock(sensor: Any, lay: Any) -> None:
    from datetime import date

    from archive.preferences.queries import preferences

    at = 1_761_350_400 + 600 * np.arange(3 * 144)  # from 25 October 2025, 0:00 UTC
    lay(sensor, at, np.full(len(at), 20.0), np.full(len(at), 50.0))
    period = periods.period_of("day", date(2025, 10, 26), date(2025, 10, 25), date(2025, 10, 27))
    found = periods.shown(sensor.pk, period, preferences(), 1, Wanted())
    assert len(found.table) == 24 and found.wide.points == 144


def test_nobody_but_the_keeper_sees_rooms(as_relative: Any, as_visitor: Any, room: Any, sensor: Any) -> None:
    for client in (as_relative, as_visitor):
        for address in (reverse("rooms:list"), reverse("rooms:room", args=[room.public_id]), sensor.get_absolute_url()):
            answer = client.get(address)
            assert answer.status_code == 404 or "/sign-in" in answer.headers.get("Location", "")


def test_a_sensor_is_added_changed_and_withdrawn_on_its_pages(as_keeper: Any, keeper: Any, room: Any) -> None:
    address = reverse("rooms:add_sensor", args=[room.public_id])
    assert send(as_keeper, address, name="", placement="free").status_code == 422
    assert send(as_keeper, address, name="Blue", placement="wall", where="low").status_code == 302
    sensor = Sensor.objects.get()
    change = reverse("rooms:sensor_change", args=[sensor.public_id])
    form = {"name": "Blue one", "placement": "free", "retired_on": "2026-05-01", "opened_version": "1"}
    assert send(as_keeper, change, **form).status_code == 302
    assert "1 May 2026" in as_keeper.get(sensor.get_absolute_url()).content.decode()
    assert send(as_keeper, change, **{**form, "name": "Red"}).status_code == 409
    assert form_id(as_keeper, reverse("access:withdraw", args=["sensors", sensor.public_id]))
