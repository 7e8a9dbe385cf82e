"""Day sums, spells of damp, insects, metals, and what a change of air would bring."""

from __future__ import annotations

import numpy as np
import pytest

from conservation.science.room_fit import hold_s
from conservation.science.spells import (
    INSECTS,
    METALS,
    compared,
    daily,
    gain,
    hours_above,
    insect_season,
    spells_above,
    two_digits,
)

HOUR = 3600


def test_one_row_a_day_holds_the_extremes_and_the_mean() -> None:
    random = np.random.default_rng(2)
    times = np.sort(random.choice(20 * 24 * 60, 900, replace=False)) * 60
    warmth, damp = random.normal(18, 3, 900), random.normal(55, 8, 900)
    days = daily(times, warmth, damp)
    assert days.count.sum() == 900
    for place, day in enumerate(days.day):
        here = times // 86400 == day
        assert days.count[place] == here.sum()
        assert days.temperature_min[place] == warmth[here].min()
        assert days.temperature_max[place] == warmth[here].max()
        assert days.humidity_mean[place] == pytest.approx(damp[here].mean())
    nothing = np.array([], dtype=np.int64)
    assert len(daily(nothing, nothing.astype(float), nothing.astype(float)).day) == 0


def test_spells_of_damp_end_at_gaps_and_short_ones_are_left_out() -> None:
    times = np.arange(200) * HOUR
    damp = np.where((times >= 20 * HOUR) & (times < 70 * HOUR), 80.0, 50.0)
    damp[100:110] = 80
    hold, _ = hold_s(times, 3)
    (spell,) = spells_above(times, damp, 75, hold)
    assert (spell.start_s, spell.end_s, spell.hours, spell.highest) == (20 * HOUR, 70 * HOUR, 50, 80)
    assert len(spells_above(times, damp, 75, hold, least_h=5)) == 2
    gappy = np.concatenate([times[:45], times[55:]])
    hold, _ = hold_s(gappy, 3)
    found = spells_above(gappy, np.concatenate([damp[:45], damp[55:]]), 75, hold, least_h=1)
    assert [each.hours for each in found] == [25, 15, 10]
    assert spells_above(times, damp, 90, hold_s(times, 3)[0]) == []


def test_insects_by_the_published_threshold() -> None:
    # CCI Notes 3/3: below about 15 °C growth, feeding and breeding slow or stop.
    assert INSECTS.value("active_from") == 15
    times = np.arange(40 * 24) * HOUR
    season = insect_season(daily(times, np.where(times < 10 * 86400, 14.0, 16.0), np.full(len(times), 72.0)))
    assert (season.active_days, season.days, season.longest_damp_days, season.damp_loving) == (30, 40, 40, True)
    dry = insect_season(daily(times, np.full(len(times), 10.0), np.where(times % (8 * 86400) < 86400, 60.0, 72.0)))
    assert (dry.active_days, dry.longest_damp_days, dry.damp_loving) == (0, 7, False)


def test_metals_by_their_published_thresholds() -> None:
    # CCI Notes 9/2 (55 %), Western Australian Museum 2017 (45 and 35 %), Cardiff University (15 %), Scott 1990 (42 %).
    found = {key: figure.value for key, figure in METALS.items()}
    assert [found[key] for key in ("stable_metal", "most_metals", "iron", "salty_iron", "salty_bronze")] == [
        55,
        45,
        35,
        15,
        42,
    ]
    times = np.arange(48) * HOUR
    hold, _ = hold_s(times, 3)
    damp = np.where(times < 10 * HOUR, 50.0, 40.0)
    assert hours_above(damp, hold, "iron") == 48
    assert hours_above(damp, hold, "salty_bronze") == 10
    assert hours_above(damp, hold, "stable_metal") == 0


def test_what_would_help() -> None:
    warmth, damp = np.full(100, 20.0), np.full(100, 50.0)
    assert gain(warmth, damp, cooler_k=5) == pytest.approx(2.038, abs=1e-3)  # Michalski's five-degree rule
    assert gain(warmth, damp, drier_pct=25) == pytest.approx(2**1.3)
    # Air cooled without drying gets damper: 20 °C and 50 % hold what 15 °C and 68.5 % hold.
    kept = gain(warmth, damp, cooler_k=5, same_water=True)
    assert kept == pytest.approx(2.038 * (50 / 68.5) ** 1.3, abs=2e-3)
    assert gain(warmth, damp) == 1


def test_ratios_in_words() -> None:
    assert [two_digits(value) for value in (0.0456, 0.95, 1.234, 2.96, 3.0, 9.96, 14.53, 144, 999)] == [
        "0.046", "0.95", "1.2", "3", "3", "10", "15", "140", "1000",
    ]  # fmt: skip
    assert compared(0.33, 1.0) == "about 3 times as fast as"
    assert compared(1.0, 0.33) == "about 3 times more slowly than"
    assert compared(1.0, 1.05) == "about as fast as"
    with pytest.raises(ValueError, match="above 0"):
        compared(0, 1)
