"""Swings around the 30-day mean: a signal whose answer is known, gaps, and the control classes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from conservation.science.fluctuation import (
    control_class_shares,
    evenly,
    humidity_band,
    is_steady,
    moving_mean,
)
from conservation.science.mould import hourly_air


def year(days: int, daily: float, step_s: int = 3600) -> tuple[np.ndarray, np.ndarray]:
    """Humidity with a yearly and a daily wave, as EN 15757's procedure is usually tried out."""
    times = np.arange(0, days * 86400, step_s)
    hours = times / 3600
    return times, 50 + 10 * np.sin(2 * np.pi * hours / 8760) + daily * np.sin(2 * np.pi * hours / 24)


@pytest.mark.parametrize("daily", [3, 15])
def test_the_synthetic_signal_of_thirteen_months(daily: float) -> None:
    times, humidity = year(395, daily)
    means = moving_mean(times, humidity)
    band = humidity_band(humidity, means)
    assert band is not None
    assert band.readings == 8760
    # Windows of 721 hours hold one reading more than thirty days: ±2.911 and ±14.522.
    assert band.p93 == pytest.approx({3: 2.911, 15: 14.522}[daily], abs=0.005)
    assert band.p07 == pytest.approx(-band.p93, abs=1e-6)
    # In theory a sine stays below A·sin(0.43 π) for 86 % of the time.
    assert band.p93 == pytest.approx(daily * math.sin(0.43 * math.pi), rel=0.01)
    assert band.mean_pct == pytest.approx(50, abs=1e-6)
    assert (band.lower_pct, band.upper_pct) == (
        pytest.approx(50 - max(10, band.p93)),
        pytest.approx(50 + max(10, band.p93)),
    )


def test_the_mean_is_undefined_near_the_ends_and_where_too_little_was_read() -> None:
    times, humidity = year(100, 3)
    means = moving_mean(times, humidity)
    assert np.flatnonzero(np.isfinite(means))[[0, -1]].tolist() == [360, 2400 - 361]
    assert means[1000] == pytest.approx(humidity[640:1361].mean())
    seen = (times < 40 * 86400) | (times > 47 * 86400)  # a week lost: a window may miss a fifth of 721 hours, 144
    gappy = moving_mean(times[seen], humidity[seen])
    at = dict(zip((times[seen] // 3600).tolist(), gappy.tolist(), strict=True))
    assert np.isnan(at[39 * 24])
    assert np.isfinite(at[20 * 24]) and np.isfinite(at[70 * 24])


def test_ten_minute_readings_give_the_same_band() -> None:
    times, humidity = year(395, 3, 600)
    band = humidity_band(humidity, moving_mean(times, humidity))
    assert band is not None
    assert band.p93 == pytest.approx(3 * math.sin(0.43 * math.pi), abs=0.03)


def test_unsteady_readings_are_brought_to_hours_first() -> None:
    random = np.random.default_rng(3)
    times = np.sort(random.choice(395 * 24 * 60, 395 * 24 * 3, replace=False)) * 60
    humidity = 50 + 10 * np.sin(2 * np.pi * times / 3600 / 8760) + 3 * np.sin(2 * np.pi * times / 3600 / 24)
    assert not is_steady(times)
    air = hourly_air(times, np.full(len(times), 20.0), humidity, 6 * 3600)
    hours, _, hourly = evenly(times, np.full(len(times), 20.0), humidity, air)
    assert is_steady(hours)
    band = humidity_band(hourly, moving_mean(hours, hourly))
    assert band is not None and band.p93 == pytest.approx(2.9, abs=0.1)


def shares(temperature: np.ndarray, humidity: np.ndarray, times: np.ndarray) -> dict[str, float | None]:
    return control_class_shares(temperature, humidity, moving_mean(times, temperature), moving_mean(times, humidity))


def test_steady_air_is_inside_every_class_and_damp_air_in_none() -> None:
    times = np.arange(0, 90 * 86400, 3600)
    steady = shares(np.full(len(times), 20.0), np.full(len(times), 50.0), times)
    assert steady == dict.fromkeys(("AA", "A1", "A2", "B", "C", "D"), 1.0)
    damp = shares(np.full(len(times), 20.0), np.full(len(times), 80.0), times)
    assert damp["C"] == damp["D"] == 0
    hot = shares(np.full(len(times), 35.0), np.full(len(times), 50.0), times)
    assert (hot["B"], hot["C"], hot["D"]) == (0, 0, 1)


def test_shares_of_a_known_wave() -> None:
    # A daily wave of 8 % around a steady mean: within ±5 % for 2/π·asin(5/8) of the time, within ±10 % always.
    times = np.arange(0, 200 * 86400, 600)
    humidity = 50 + 8 * np.sin(2 * np.pi * times / 86400)
    found = shares(np.full(len(times), 20.0), humidity, times)
    inside = 2 / math.pi * math.asin(5 / 8)
    assert found["AA"] == pytest.approx(inside, abs=0.01)
    assert found["A1"] == pytest.approx(inside, abs=0.01)
    assert found["A2"] == found["B"] == found["C"] == 1
    # The same spread over the seasons: A1 follows a slow wave, AA does not.
    slow = 50 + 8 * np.sin(2 * np.pi * times / 86400 / 200)
    seasonal = shares(np.full(len(times), 20.0), slow, times)
    assert seasonal["A1"] == 1
    assert seasonal["AA"] is not None and seasonal["AA"] < 0.6


def test_a_stricter_class_never_holds_more() -> None:
    random = np.random.default_rng(5)
    times = np.arange(0, 120 * 86400, 3600)
    for _ in range(20):
        wave = random.uniform(0, 15) * np.sin(times / 86400 * random.uniform(0.05, 6))
        humidity = np.clip(random.uniform(40, 60) + wave + random.normal(0, 3, len(times)), 0, 100)
        temperature = random.uniform(15, 25) + random.uniform(0, 5) * np.sin(times / 86400 * 6.28)
        found = shares(temperature, humidity, times)
        assert found["AA"] <= found["A2"] <= 1  # type: ignore[operator]
        assert found["A1"] <= found["B"]  # type: ignore[operator]
        assert found["C"] <= found["D"]  # type: ignore[operator]
