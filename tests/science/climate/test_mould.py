"""The mould index against the published constants worked through step by step, and against its own limits."""

from __future__ import annotations

import math

import numpy as np
import pytest

from conservation.science.mould import (
    CLASSES,
    critical_rh_pct,
    days_to_first_growth,
    hourly_air,
    mould_course,
    mould_index,
)
from tests.science.climate.naive_mould import index_by_the_book


def constant(temperature: float, humidity: float, days: int) -> tuple[np.ndarray, np.ndarray]:
    return np.full(days * 24, float(temperature)), np.full(days * 24, float(humidity))


def days_until(index: np.ndarray, level: float) -> float | None:
    reached = np.flatnonzero(index >= level)
    return (int(reached[0]) + 1) / 24 if len(reached) else None


def test_critical_humidity() -> None:
    # Hukka & Viitanen 1999: the cubic at 5 and 10 °C, which dips below 80 % near 17 °C and is kept at 80 there.
    found = critical_rh_pct(np.array([5.0, 10, 15, 20, 25, 17]))
    assert found == pytest.approx([88.016, 82.030, 80.039, 80.040, 80, 80], abs=0.001)
    assert critical_rh_pct(np.array([10.0, 20, 25]), 85) == pytest.approx([85, 85, 85])


def test_days_to_first_growth_on_pine() -> None:
    assert float(days_to_first_growth(20.0, 90.0)) == pytest.approx(29.41, abs=0.02)
    assert float(days_to_first_growth(20.0, 97.0)) == pytest.approx(10.38, abs=0.02)
    assert float(days_to_first_growth(10.0, 90.0)) == pytest.approx(47.12, abs=0.02)


@pytest.mark.parametrize(
    ("sensitivity", "days_to_1", "after_a_year"),
    [(1, 29.46, 3.995), (2, 51.08, 3.041), (3, 470.4, 0.808), (4, None, 0.329)],
)
def test_the_four_classes_at_20_degrees_and_90_per_cent(
    sensitivity: int, days_to_1: float | None, after_a_year: float
) -> None:
    index = mould_index(*constant(20, 90, 730), sensitivity)
    assert days_until(index, 1) == (None if days_to_1 is None else pytest.approx(days_to_1, abs=0.06))
    assert index[365 * 24 - 1] == pytest.approx(after_a_year, abs=0.002)


def test_class_one_becomes_visible_in_two_months() -> None:
    assert days_until(mould_index(*constant(20, 90, 100), 1), 3) == pytest.approx(59.54, abs=0.05)


@pytest.mark.parametrize(
    ("temperature", "humidity", "days"), [(20, 95, 13.88), (20, 100, 6.83), (5, 95, 35.63), (25, 85, 56.5)]
)
def test_first_growth_in_other_air(temperature: float, humidity: float, days: float) -> None:
    assert days_until(mould_index(*constant(temperature, humidity, 100), 1), 1) == pytest.approx(days, abs=0.02)


@pytest.mark.parametrize(("temperature", "humidity"), [(15, 75), (5, 85), (20, 79.9), (-3, 99), (55, 99)])
def test_nothing_grows_below_the_critical_humidity_in_frost_or_in_heat(temperature: float, humidity: float) -> None:
    for sensitivity in CLASSES:
        assert mould_index(*constant(temperature, humidity, 365), sensitivity).max() == 0


def test_growth_levels_off_at_the_largest_index() -> None:
    for temperature, humidity in [(20, 90), (20, 95), (22, 97), (10, 90)]:
        critical = float(critical_rh_pct(np.array([temperature]))[0])
        share = (critical - humidity) / (critical - 100)
        largest = 1 + 7 * share - 2 * share**2
        index = mould_index(*constant(temperature, humidity, 1500), 1)
        assert (np.diff(index) >= 0).all()
        assert index[-1] == pytest.approx(largest, abs=0.01)


def test_decline_by_the_hours_of_the_dry_spell() -> None:
    # −0.032 a day in the first 6 hours, nothing to the 24th, −0.016 a day from then on.
    index = mould_index(*constant(20, 50, 30), 1, start=2.0)
    assert [round(float(index[hour - 1]), 3) for hour in (6, 24, 48, 168, 720)] == [1.992, 1.992, 1.976, 1.896, 1.528]
    slower = mould_index(*constant(20, 50, 30), 4, start=2.0)
    assert 2 - slower[-1] == pytest.approx((2 - index[-1]) / 10)
    assert mould_index(*constant(20, 50, 300), 1, start=1.0).min() == 0


def test_short_damp_spells_still_grow_mould() -> None:
    hours = np.arange(28 * 24)
    for damp, cycle, wet, dry, expected in [(12, 24, 95, 60, 0.785), (24, 48, 95, 60, 0.897), (6, 24, 97, 50, 0.450)]:
        humidity = np.where(hours % cycle < damp, wet, dry).astype(float)
        assert mould_index(np.full(len(hours), 20.0), humidity, 1)[-1] == pytest.approx(expected, abs=0.001)


def test_it_agrees_hour_by_hour_with_a_plain_reading_of_the_equations() -> None:
    random = np.random.default_rng(7)
    hours = 24 * 200
    temperature = 15 + 8 * np.sin(np.arange(hours) / 500) + random.normal(0, 2, hours)
    humidity = np.clip(82 + 12 * np.sin(np.arange(hours) / 300) + random.normal(0, 4, hours), 0, 100)
    for sensitivity in CLASSES:
        ours = mould_index(temperature, humidity, sensitivity)
        theirs = index_by_the_book(temperature.tolist(), humidity.tolist(), sensitivity)
        assert ours == pytest.approx(theirs, abs=1e-9)
    assert mould_index(temperature, humidity, 1).max() > 1.5  # the comparison went through every branch


def test_readings_become_hours() -> None:
    minutes = np.arange(0, 48 * 60, 10)
    air = hourly_air(minutes * 60, np.full(len(minutes), 20.0), 50 + minutes / 60 % 24, 1800)
    assert air is not None and len(air.temperature_c) == 48
    assert air.relative_humidity_pct[0] == pytest.approx(50 + 25 / 60)  # the mean of six readings
    assert air.known.all()
    # Three-hourly readings are joined by a straight line.
    sparse = hourly_air(np.arange(9) * 10800, np.full(9, 20.0), np.arange(9) * 3.0, 3 * 10800)
    assert sparse is not None and sparse.known.all()
    assert sparse.relative_humidity_pct[:5] == pytest.approx([0, 1, 2, 3, 4])
    # A clock that is some seconds off moves no reading into the hour before.
    jitter = np.arange(100) * 3600 + np.tile([0, -7, 5, -3], 25)
    regular = hourly_air(np.sort(jitter), np.full(100, 20.0), np.full(100, 90.0), 10800)
    assert regular is not None and len(regular.known) == 100


def test_the_index_is_held_through_gaps() -> None:
    hours = np.concatenate([np.arange(20 * 24), np.arange(20 * 24 + 5, 40 * 24)])  # five hours are missing
    air = hourly_air(hours * 3600, np.full(len(hours), 20.0), np.full(len(hours), 90.0), 3 * 3600)
    assert air is not None
    course = mould_course(air, 1)
    assert (~air.known).sum() == 5
    held = course.index[20 * 24 - 1 : 20 * 24 + 5]
    assert (held == held[0]).all()
    assert course.days_to_1 == pytest.approx(29.46 + 5 / 24, abs=0.05)


def test_readings_far_apart_give_no_index() -> None:
    assert hourly_air(np.arange(50) * 25200, np.full(50, 20.0), np.full(50, 90.0), 1e9) is None
    assert hourly_air(np.arange(50) * 21600, np.full(50, 20.0), np.full(50, 90.0), 1e9) is not None
    assert hourly_air(np.array([0]), np.array([20.0]), np.array([90.0]), 1e9) is None


def test_a_step_of_an_hour_is_close_to_the_equations_solution() -> None:
    # Below index 1 the growth is dM/dt = (1 − exp(2.3(M − M_max)))/t_m; its solution at 20 °C and 90 %.
    t_m, largest = 29.41, 3.995
    exact = t_m * (math.log((math.exp(2.3 * largest) - 1) / (math.exp(2.3 * largest) - math.exp(2.3))) / 2.3 + 1)
    assert days_until(mould_index(*constant(20, 90, 60), 1), 1) == pytest.approx(exact, abs=0.05)
