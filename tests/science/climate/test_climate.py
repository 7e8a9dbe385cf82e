"""What a room's readings mean, through the door that pages and the command line use."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from conservation.science.climate import analyse
from conservation.science.housing.climate import limits
from conservation.science.problem import InputError
from conservation.topics import answer, topic
from tests.science.climate.naive_mould import index_by_the_book

START = datetime.fromisoformat("2025-01-01T00:00:00")
Row = list[Any]


def rows(hours: int, temperature: Any = 20.0, humidity: Any = 50.0, step_h: float = 1) -> list[Row]:
    """Rows at one interval; temperature and humidity may be functions of the row's number."""
    return [
        [
            (START + timedelta(hours=step_h * number)).isoformat(),
            temperature(number) if callable(temperature) else temperature,
            humidity(number) if callable(humidity) else humidity,
        ]
        for number in range(hours)
    ]


def climate(readings: list[Row] | None = None, **fields: Any) -> dict[str, Any]:
    given = {"readings": readings, **fields} if readings is not None else fields
    return answer("climate", json.dumps(given))


FIELDS = {
    "readings", "from", "to", "interval_minutes", "gaps", "refused_rows", "questions", "temperature", "humidity",
    "dew_point", "life_multiplier", "mould", "en15757", "control_classes", "kinds", "sources", "notes",
}  # fmt: skip


def test_a_steady_day() -> None:
    result = climate(rows(24))
    assert set(result) == FIELDS
    assert result["readings"] == 24
    assert (result["from"], result["to"]) == ("2025-01-01T00:00:00", "2025-01-01T23:00:00")
    assert result["interval_minutes"] == 60
    assert result["gaps"] == result["refused_rows"] == result["questions"] == []
    assert result["temperature"] == {"mean": 20, "min": 20, "max": 20, "p05": 20, "p95": 20}
    assert result["dew_point"]["mean"] == pytest.approx(9.261, abs=0.002)
    assert result["life_multiplier"] == {"ea70": pytest.approx(1, abs=1e-12), "ea100": pytest.approx(1, abs=1e-12)}
    assert result["mould"]["1"] == {"peak": 0, "now": 0, "days_to_1": None, "days_to_3": None}
    assert result["en15757"] is None and result["control_classes"] is None
    assert any("60 days" in note for note in result["notes"]) and any("395 days" in note for note in result["notes"])
    assert {source["key"] for source in result["sources"]} >= {"michalski-2002", "hukka-viitanen-1999", "ojanen-2010"}


def test_the_spread_by_hand() -> None:
    result = climate(rows(101, temperature=lambda n: n / 10, humidity=lambda n: 40 + n / 10))
    assert result["temperature"] == {
        "mean": pytest.approx(5),
        "min": 0,
        "max": 10,
        "p05": pytest.approx(0.5),
        "p95": pytest.approx(9.5),
    }


def test_life_is_a_harmonic_mean_over_time_not_over_rows() -> None:
    half = rows(48, lambda n: 25.0 if n < 24 else 15.0, lambda n: 60.0 if n < 24 else 40.0)
    assert climate(half)["life_multiplier"]["ea100"] == pytest.approx(0.6922, abs=5e-4)
    assert climate(half)["life_multiplier"]["ea70"] == pytest.approx(0.798, abs=5e-4)
    # Twenty days, read every hour in the first half and every two hours in the second, weigh the same; by rows it
    # would come to 0.556.
    long = rows(480, lambda n: 25.0 if n < 240 else 15.0, lambda n: 60.0 if n < 240 else 40.0)
    thinned = long[:240] + long[240::2]
    assert climate(thinned)["life_multiplier"]["ea100"] == pytest.approx(0.6922, abs=0.002)


def test_mould_in_constant_air() -> None:
    result = climate(rows(24 * 100, 20.0, 90.0))
    assert result["mould"]["1"]["days_to_1"] == pytest.approx(29.46, abs=0.05)
    assert result["mould"]["1"]["days_to_3"] == pytest.approx(59.54, abs=0.05)
    assert result["mould"]["2"]["days_to_1"] == pytest.approx(51.08, abs=0.05)
    assert result["mould"]["3"]["days_to_1"] is None
    assert result["mould"]["1"]["peak"] == result["mould"]["1"]["now"]


def test_mould_wanes_after_the_damp() -> None:
    readings = rows(24 * 40, 20.0, lambda n: 97.0 if n < 240 else 50.0)
    result = climate(readings)["mould"]["1"]
    expected = index_by_the_book([20.0] * 960, [row[2] for row in readings], 1)
    assert (result["peak"], result["now"]) == (pytest.approx(max(expected)), pytest.approx(expected[-1]))


def test_readings_too_far_apart_have_no_mould_index() -> None:
    assert climate(rows(60, 20.0, 95.0, step_h=7))["mould"] is None
    assert climate(rows(60, 20.0, 95.0, step_h=6))["mould"]["1"]["days_to_1"] == pytest.approx(13.9, abs=0.1)
    assert climate(rows(1))["mould"] is None
    assert any("six hours" in note or "6 hours" in note for note in climate(rows(60, step_h=7))["notes"])


def test_gaps_are_kept_as_gaps() -> None:
    readings = rows(100)
    del readings[50:60]
    result = climate(readings)
    assert result["gaps"] == [{"from": "2025-01-03T01:00:00", "to": "2025-01-03T12:00:00"}]
    assert any("held through 10 hours" in note and "longer than six hours" in note for note in result["notes"])
    assert climate(rows(50) + rows(53)[52:])["gaps"] == []  # three intervals are no gap yet


def test_thirteen_months_give_the_band_and_twelve_do_not() -> None:
    def wave(number: int) -> float:
        return 50 + 10 * np.sin(2 * np.pi * number / 8760) + 3 * np.sin(2 * np.pi * number / 24)

    result = climate(rows(24 * 395, 20.0, wave))
    assert result["en15757"] == {
        "p07": pytest.approx(-2.911, abs=0.005),
        "p93": pytest.approx(2.911, abs=0.005),
        "lower_pct": pytest.approx(40, abs=1e-6),
        "upper_pct": pytest.approx(60, abs=1e-6),
    }
    assert result["control_classes"]["A1"] == result["control_classes"]["B"] == 1
    assert "en-15757" in {source["key"] for source in result["sources"]}
    less = climate(rows(24 * 395 - 1, 20.0, wave))
    assert less["en15757"] is None and less["control_classes"] is not None


def test_sixty_days_give_the_control_classes() -> None:
    assert climate(rows(24 * 60))["control_classes"]["AA"] == 1
    assert climate(rows(24 * 60 - 1))["control_classes"] is None


def test_what_is_refused_and_what_counts_as_full() -> None:
    readings = rows(8)
    readings[1][1], readings[2][1], readings[3][2], readings[4][2] = 85.5, None, 103.5, 102
    readings[5][2], readings[6][1], readings[7][1:] = -0.5, -40, [None, None]
    result = climate(readings)
    assert [row["line"] for row in result["refused_rows"]] == [2, 3, 4, 6, 8]
    assert all(row["why"] for row in result["refused_rows"])
    assert result["readings"] == 3
    assert result["humidity"]["max"] == 100
    assert any("taken as 100" in note for note in result["notes"])


def test_years_in_which_nobody_read_a_logger_are_refused(tmp_path: Path) -> None:
    odd = ["0001-01-01T00:00+14:00", "9999-12-31T23:59", "1899-12-31T23:00", "2026-01-01T00:00"]
    result = climate([[moment, 20, 50] for moment in odd], tz="Europe/Berlin")
    assert result["readings"] == 1
    assert [row["line"] for row in result["refused_rows"]] == [1, 2, 3]
    path = tmp_path / "odd.csv"
    path.write_text("time,temp C,rh\n" + "".join(f"{moment[:10]} 10:00,20,50\n" for moment in odd))
    result = climate(csv_path=str(path), tz="Europe/Berlin")
    assert (result["readings"], [row["line"] for row in result["refused_rows"]]) == (1, [2, 3, 4])


def test_order_copies_and_conflicts() -> None:
    readings = rows(5)
    result = climate([readings[3], *readings, [readings[0][0], 30.0, 20.0]])
    assert result["readings"] == 5
    assert [row["line"] for row in result["refused_rows"]] == [7]


def test_zones_and_summer_time() -> None:
    stamps = ["2026-10-25T01:30", "2026-10-25T02:30", "2026-10-25T02:30", "2026-10-25T03:30"]
    readings = [[stamp, 20.0 + step, 50.0] for step, stamp in enumerate(stamps)]
    result = climate(readings, tz="Europe/Berlin")
    assert (result["readings"], result["interval_minutes"]) == (4, 60)
    assert (result["from"], result["to"]) == ("2026-10-25T01:30:00+02:00", "2026-10-25T03:30:00+01:00")
    assert climate([["2026-10-25T01:30+02:00", 20, 50]])["from"] == "2026-10-24T23:30:00+00:00"
    unnamed = climate(readings)
    assert unnamed["readings"] == 4 and unnamed["questions"]


def test_fahrenheit_rows() -> None:
    assert climate(rows(3, 68.0), unit="F")["temperature"]["mean"] == pytest.approx(20)
    assert climate(rows(3, 68.0))["temperature"]["mean"] == 68  # the field is named in °C; nothing is guessed


@pytest.mark.parametrize(
    ("fields", "path"),
    [
        ({}, "readings"),
        ({"readings": rows(2), "csv_path": "x.csv"}, "csv_path"),
        ({"csv_path": "/nowhere/at/all.csv"}, "csv_path"),
        ({"csv_path": "/"}, "csv_path"),
        ({"csv_path": "a\0b"}, "csv_path"),
        ({"readings": [["yesterday", 20, 50]]}, "readings[0][0]"),
        ({"readings": [*rows(2), ["2025-01-01T05:00", "20", 50]]}, "readings[2][1]"),
        ({"readings": [["2025-01-01T05:00", 20]]}, "readings[0]"),
        ({"readings": [["2025-01-01T05:00", 20, True]]}, "readings[0][2]"),
        ({"readings": rows(2), "tz": "Mars/Base"}, "tz"),
        ({"readings": rows(2), "tz": "../etc"}, "tz"),
        ({"readings": rows(2), "unit": "K"}, "unit"),
        ({"readings": rows(2), "kinds": ["letters"]}, "kinds[0]"),
        ({"readings": rows(2), "rooms": 1}, "rooms"),
        ({"readings": rows(2), "day_first": 1}, "day_first"),
    ],
)
def test_it_refuses_what_cannot_be_used_by_its_path(fields: dict[str, Any], path: str) -> None:
    with pytest.raises(InputError) as refusal:
        climate(**fields)
    assert refusal.value.path.startswith(path)


def test_no_rows_at_all() -> None:
    result = climate([], kinds=["letter"])
    assert set(result) == FIELDS
    assert result["readings"] == 0 and result["from"] is None and result["temperature"] is None
    assert result["kinds"][0] == {"kind": "letter", **dict.fromkeys(list(result["kinds"][0])[1:])}
    assert result["notes"]


def test_a_file_with_two_readings_asks(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("time,temp C,rh\n03/04/2026 10:00,20,50\n03/04/2026 11:00,20,50\n")
    asked = climate(csv_path=str(path))
    assert asked["readings"] == 0 and len(asked["questions"]) == 1
    told = climate(csv_path=str(path), day_first=True, tz="Europe/London")
    assert told["from"] == "2026-04-03T10:00:00+01:00" and told["questions"] == []


# --- who is unhappy ---


def test_verdicts_by_the_share_of_time() -> None:
    # Silver: best 5 to 22 °C and 35 to 50 %, hard up to 24 °C and 55 % (limits of the housing rules).
    bounds = limits("silver")
    assert bounds.rh_best_pct == (35, 50) and bounds.rh_max_pct == 55 and bounds.temperature_max_c == 24

    def judged(humidity: Any, hours: int = 1000) -> dict[str, Any]:
        return climate(rows(hours, 18.0, humidity), kinds=["silver"])["kinds"][0]

    assert judged(45.0)["verdict"] == "suits"
    assert judged(lambda n: 52.0 if n % 20 == 0 else 45.0) == {
        "kind": "silver",
        "share_in_best": 0.95,
        "share_in_hard": 1.0,
        "hours_too_damp": 50,
        "hours_too_dry": 0,
        "hours_too_warm": 0,
        "hours_too_cold": 0,
        "verdict": "suits",
    }
    assert judged(lambda n: 52.0 if n % 19 == 0 else 45.0)["verdict"] == "watch"
    assert judged(lambda n: 60.0 if n % 20 == 0 else 45.0)["verdict"] == "suits"  # exactly 5 % outside the hard limit
    assert judged(lambda n: 60.0 if n % 20 == 0 or n == 1 else 45.0)["verdict"] == "unsuitable"
    assert judged(lambda n: 60.0 if n < 23 else 45.0)["verdict"] == "suits"
    assert judged(lambda n: 60.0 if n < 24 else 45.0)["verdict"] == "unsuitable"  # 24 hours together
    assert judged(lambda n: 60.0 if n < 24 and n != 12 else 45.0)["verdict"] == "suits"
    assert judged(20.0)["hours_too_dry"] == 1000


def test_kinds_come_back_in_the_order_given_with_hours_warm_and_cold() -> None:
    names = ["letter", "silver", "acetate-film", "letter"]
    result = climate(rows(100, lambda n: 30.0 if n < 40 else -5.0, 45.0), kinds=names)["kinds"]
    assert [each["kind"] for each in result] == names
    assert result[1]["hours_too_warm"] == 40 and result[1]["hours_too_cold"] == 60


def test_what_belongs_in_the_cold_gets_a_word_when_the_home_is_as_good_as_it_gets() -> None:
    result = climate(rows(100, 18.0, 40.0), kinds=["colour-print"])
    assert result["kinds"][0]["verdict"] == "unsuitable"
    assert any("cold place would be better" in note for note in result["notes"])
    assert not any("cold place" in note for note in climate(rows(100, 24.0, 40.0), kinds=["colour-print"])["notes"])


def test_a_kind_without_limits_has_no_verdict() -> None:
    result = climate(rows(10), kinds=["ammunition"])
    assert result["kinds"][0]["verdict"] is None and any("no climate limits" in note for note in result["notes"])


def test_a_cold_wall_is_worse_than_the_room() -> None:
    times = np.arange(24 * 100) * 3600
    warmth, damp = np.full(len(times), 20.0), np.full(len(times), 60.0)
    room = analyse(times, warmth, damp)
    wall = analyse(times, warmth, damp, surface_c=13.0)  # 92 % at the wall
    assert room.mould is not None and wall.mould is not None
    assert room.mould[1].peak == 0
    assert wall.mould[1].days_to_1 is not None and wall.mould[1].days_to_1 < 60


def test_the_schema_and_the_clock_of_utc() -> None:
    schema = topic("climate").Input.model_json_schema()
    assert schema["additionalProperties"] is False
    assert set(schema["properties"]) == {"csv_path", "readings", "day_first", "unit", "tz", "kinds"}
    moment = datetime(2025, 1, 1, 12, tzinfo=UTC)
    assert climate([[moment.isoformat(), 20, 50]], tz="Asia/Tokyo")["from"] == "2025-01-01T21:00:00+09:00"


def test_the_driest_air_that_can_be_written_has_no_dew_point() -> None:
    """IEEE 754: the least positive double divided by 100 is 0, whose logarithm is no number of JSON."""
    driest = answer("climate", '{"readings": [["2026-01-01T00:00", 20, 50], ["2026-01-01T01:00", 20, 5e-324]]}')
    assert driest["dew_point"]["mean"] == pytest.approx(9.261, abs=0.002)
