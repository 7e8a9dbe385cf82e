"""Life multipliers, paper and acetate film, against published figures and their own definitions."""

from __future__ import annotations

import numpy as np
import pytest

from conservation.science.ageing import (
    acetate_table,
    acetate_years,
    acetate_years_by_rate,
    life_multiplier,
    mean_life_multiplier,
    paper_life_ratio,
)


@pytest.mark.parametrize("energy", [70, 100, 118.9])
def test_the_reference_point_scores_one_exactly(energy: float) -> None:
    # By definition at 20 °C = 293.15 K; the printed 1/293 would give 0.985 and 0.979.
    assert float(life_multiplier(20.0, 50.0, energy)) == pytest.approx(1, abs=1e-12)


def test_five_degrees_cooler_doubles_and_half_the_humidity_more_than_doubles_life() -> None:
    # The title of Michalski 2002, and the formula's own figures: 2.038 (100 kJ/mol), 1.646 (70), 2^1.3.
    assert float(life_multiplier(15.0, 50.0, 100)) == pytest.approx(2.0380, abs=5e-4)
    assert float(life_multiplier(15.0, 50.0, 70)) == pytest.approx(1.6460, abs=5e-4)
    assert float(life_multiplier(20.0, 25.0, 100)) == pytest.approx(2**1.3, abs=1e-9)


@pytest.mark.parametrize(
    ("temperature", "humidity", "ea70", "ea100"),
    [(25, 60, 0.4874, 0.3965), (5, 35, 7.482, 14.53), (30, 70, 0.2504, 0.1668), (18, 35, 1.9367, 2.1075)],
)
def test_worked_multipliers(temperature: float, humidity: float, ea70: float, ea100: float) -> None:
    assert float(life_multiplier(temperature, humidity, 70)) == pytest.approx(ea70, rel=3e-4)
    assert float(life_multiplier(temperature, humidity, 100)) == pytest.approx(ea100, rel=3e-4)


def test_over_time_rates_add_and_lives_do_not() -> None:
    temperature, humidity = np.array([25.0, 15.0]), np.array([60.0, 40.0])
    assert mean_life_multiplier(temperature, humidity, 100) == pytest.approx(0.6922, abs=5e-4)
    assert mean_life_multiplier(temperature, humidity, 70) == pytest.approx(0.798, abs=5e-4)
    # Twelve monthly readings; the multiplier of the annual means would be too hopeful by 6 to 10 %.
    months_t = np.array([17, 17, 18, 18, 19, 20, 22, 23, 20, 19, 18, 17], dtype=float)
    months_rh = np.array([38, 38, 42, 45, 50, 55, 58, 60, 55, 50, 45, 40], dtype=float)
    assert mean_life_multiplier(months_t, months_rh, 70) == pytest.approx(1.098, abs=1e-3)
    assert mean_life_multiplier(months_t, months_rh, 100) == pytest.approx(1.106, abs=1e-3)
    assert float(life_multiplier(months_t.mean(), months_rh.mean(), 100)) == pytest.approx(1.214, abs=1e-3)


def test_a_mean_never_lies_outside_what_it_is_the_mean_of() -> None:
    random = np.random.default_rng(1)
    temperature, humidity = random.uniform(-20, 40, 500), random.uniform(20, 80, 500)
    each = life_multiplier(temperature, humidity, 100)
    mean = mean_life_multiplier(temperature, humidity, 100, random.uniform(0.1, 5, 500))
    assert each.min() < mean < each.mean()


def test_very_dry_air_counts_as_five_per_cent() -> None:
    assert float(life_multiplier(20.0, 0.0, 100)) == float(life_multiplier(20.0, 5.0, 100))


def test_paper_by_its_water() -> None:
    for temperature, humidity, ratio in [(15, 50, 2.0103), (25, 60, 0.3625), (20, 40, 1.404), (5, 35, 15.44)]:
        assert float(paper_life_ratio(temperature, humidity)) == pytest.approx(ratio, rel=4e-4)
    # University College London, press notice on the damage function (22 December 2015): some collections decay about
    # 50 % faster at +2 °C and last half as long at +4 °C. Same water content, so only the temperature term; the words
    # are round, hence 30 %.
    assert np.exp(14300 * (1 / 293.15 - 1 / 295.15)) == pytest.approx(1.5, rel=0.3)
    assert 1 / float(paper_life_ratio(24.0, 50.0)) == pytest.approx(2, rel=0.3)


def test_acetate_table_against_an_independent_fit() -> None:
    # The published table (from memory) against a rate of one activation energy and strict proportion to humidity.
    warmths, humidities, years = acetate_table()
    for warmth, row in zip(warmths, years, strict=True):
        for humidity, printed in zip(humidities, row, strict=True):
            assert acetate_years(warmth, humidity) == pytest.approx(printed, rel=1e-9)
            assert printed == pytest.approx(float(acetate_years_by_rate(warmth, humidity)), rel=0.16)


def test_acetate_at_the_point_its_makers_quote() -> None:
    # About 50 years at 65 °F and 50 %, about 150 in all at 50 °F (encyclopedia extract citing the institute).
    assert acetate_years(18.33, 50) == pytest.approx(50, abs=10)
    assert acetate_years(10.0, 50) == pytest.approx(150, abs=1)
    assert float(acetate_years_by_rate(18.33, 50.0)) == pytest.approx(52, abs=1)
    assert acetate_years(-5, 30) is None
    assert acetate_years(20, 90) is None
