"""The light of places: figures of published tables, seasons, UV, and what must always hold."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.kinds import KIND_CODES
from conservation.science.light import by_blue_wool, by_class, of_thing
from conservation.science.light_budget import both_series, budget, days_left, dose_lxh, presets, weeks_of
from conservation.science.sources import register
from conservation.science.spots import Place, Reading, answers, light_of, place_codes, season, verdict_on
from conservation.science.words import codes

ANY = {name: st.sampled_from(["", *answers(name)]) for name in ("direction", "distance", "curtain", "sun", "lamp",
                                                                "glazing")}  # fmt: skip
places = st.builds(
    Place, **ANY, lamp_hours=st.none() | st.floats(0, 24), hours=st.none() | st.floats(0, 24),
    southern=st.booleans(), strict_uv=st.booleans(),
)  # fmt: skip


def test_a_home_of_which_nothing_is_known_is_the_published_mean() -> None:
    """Kodak’s note on home display: mean 120 lx over 100,000 readings; home convention 12 h a day."""
    found = light_of(Place())
    assert (found.origin, found.lux, found.hours_per_day) == ("nothing", 120, 12)
    assert (found.low, found.high) == (40, 360)  # a factor of three either way, our default


def test_questions_stand_for_published_light_levels() -> None:
    """IES VE help: 2000 lx at the window shaded, 300 away from it; engineering table: 1000 close to a window."""
    for distance, lux in (("sill", 2000), ("near", 1000), ("room", 300)):
        assert light_of(Place(direction="s", distance=distance)).lux == lux
        assert light_of(Place(direction="n", distance=distance, southern=True)).lux == lux
    # Mastering Digital Printing, p. 154: 50,000 lx in the sun, three hours a day.
    sunny = light_of(Place(direction="s", distance="room", sun="hours"))
    assert sunny.lux == pytest.approx((300 * 9 + 50_000 * 3) / 12)


def test_the_year_comes_to_twelve_months_of_its_mean() -> None:
    found = light_of(Place(direction="s", distance="room"))
    assert found.lxh_between(date(2026, 1, 1), date(2027, 1, 1)) == pytest.approx(300 * 12 * 365, rel=0.01)
    weeks = found.weekly(date(2026, 1, 5), 52)
    assert max(weeks) == pytest.approx(300 * 1.4, rel=0.01) and min(weeks) == pytest.approx(300 * 0.6, rel=0.01)
    assert season(date(2026, 6, 21), False) > 1.39 > 0.61 > season(date(2026, 6, 21), True)


def test_a_reading_in_june_is_less_over_the_year() -> None:
    found = light_of(Place(direction="s", readings=(Reading(140, date(2026, 6, 21), "sun", "meter"),)))
    assert found.lux == pytest.approx(100, rel=0.01) and found.origin == "readings"
    assert found.high == pytest.approx(found.lux * 1.5)
    phone = light_of(Place(direction="s", readings=(Reading(140, date(2026, 6, 21), "sun", "phone"),)))
    assert phone.high == pytest.approx(phone.lux * 2) and any("phone" in note for note in phone.notes)
    both = light_of(Place(direction="s", lamp="led", readings=(Reading(140, date(2026, 6, 21), "sun", "meter"),)))
    assert both.origin == "partly"


@pytest.mark.parametrize(
    ("place", "uv", "filtered"),
    [
        # PIAJ 2007: fluorescent up to 14 µW/cm² per 1000 lx, which are 140 µW/lm; 15 would be 150 (C12).
        (Place(direction="none", lamp="tube"), 140, False), (Place(direction="none", lamp="bulb"), 50, True),
        (Place(direction="none", lamp="led"), 5, True), (Place(direction="n", distance="room"), 400, False),
        (Place(direction="n", distance="room", glazing="glass"), 400, False),
        (Place(direction="n", distance="room", glazing="acrylic"), 40, True),
        (Place(direction="n", distance="room", glazing="acrylic", strict_uv=True), 40, False),
        (Place(direction="n", distance="room", glazing="uv", strict_uv=True), 8, True),
        (Place(direction="n", readings=(Reading(9, date(2026, 5, 1), "sun", "meter", uv_uw_lm=150.0),)), 150, False),
    ],
)  # fmt: skip
def test_uv_is_the_worst_that_shines_less_what_is_stopped(place: Place, uv: float, filtered: bool) -> None:
    found = light_of(place)
    assert found.uv_uw_lm == pytest.approx(uv) and found.uv_filtered is filtered


@given(places)
def test_a_band_holds_its_middle_and_a_day_has_at_most_24_hours(place: Place) -> None:
    found = light_of(place)
    assert 0 <= found.low <= found.lux <= found.high
    assert 0 <= found.hours_per_day <= 24 + 1e-9
    assert found.day.hours + found.lamp.hours == pytest.approx(found.hours_per_day)
    if place.direction == "none":
        assert found.day.lux * found.day.hours == 0


@given(places, st.lists(st.floats(0, 100_000), min_size=1, max_size=4), st.floats(1, 5))
def test_more_light_never_leaves_more_days(place: Place, lux: list[float], more: float) -> None:
    def taken(factor: float) -> tuple[Reading, ...]:
        return tuple(Reading(each * factor, date(2026, 1 + n, 3), "sun", "meter") for n, each in enumerate(lux))

    one, two = (light_of(Place(direction=place.direction, lamp=place.lamp, hours=place.hours, readings=taken(f)))
                for f in (1.0, more))  # fmt: skip
    assert two.high >= one.high - 1e-9 and two.lux >= one.lux - 1e-9
    for name in ("high", "medium", "low"):
        limit = by_class(name).annual_limit_lxh  # type: ignore[arg-type]
        few = days_left(limit, 0, two.lux, two.hours_per_day)
        many = days_left(limit, 0, one.lux, one.hours_per_day)
        assert many is None or (few is not None and few <= many + 1e-9)


@given(
    st.sampled_from(sorted(KIND_CODES)), st.lists(st.sampled_from(sorted(KIND_CODES)), max_size=3), st.booleans(),
    st.integers(1, 500),
)  # fmt: skip
def test_a_part_more_never_raises_the_limit(kind: str, parts: list[str], uv_filtered: bool, years: int) -> None:
    alone = budget(of_thing(kind), years, uv_filtered).annual_lxh
    joined = budget(of_thing(kind, tuple(parts)), years, uv_filtered).annual_lxh
    if alone is not None:
        assert joined is not None and joined <= alone
    longer = budget(of_thing(kind), years + 1, uv_filtered).annual_lxh
    assert alone is None or (longer is not None and longer <= alone)


def test_policy_budgets_by_hand() -> None:
    """Series A without UV over 50 years: blue wools 1 to 6 give 6,000, 20,000, 60,000, 200,000, 600,000, 2,000,000."""
    found = [budget(by_blue_wool(n), 50, True).policy_lxh for n in range(1, 7)]
    assert found == [6_000, 20_000, 60_000, 200_000, 600_000, 2_000_000]
    # Ten looks of five minutes at 50 lx: 41.67 lx h (CCAHA, Light Exposure of Artifacts on Exhibition).
    assert next(each.lxh for each in presets() if each.code == "looked-at") == pytest.approx(41.67, abs=0.01)
    assert dose_lxh(1000, 10 / 60) == pytest.approx(dose_lxh(10, 1000 / 60))  # reciprocity: 1000 lx 10 s, 10 lx 1000 s


def test_both_series_stand_side_by_side() -> None:
    """CAMEO (after Michalski 1990): blue wool 1 at 0.4 and 8 at 900 Mlx h without UV; they differ by 33 and 18 %."""
    rows = both_series()
    assert rows[0].older == 400_000 and rows[7].older == 900e6
    assert rows[0].differ_pct == pytest.approx(33.3, abs=0.1) and rows[7].differ_pct == pytest.approx(-18.2, abs=0.1)


def test_showings_are_as_long_as_published() -> None:
    """NISO Z39.79: 12 weeks for the very sensitive, 52 for any; the Smithsonian’s class B: six months."""
    assert (weeks_of("high").most, weeks_of("medium").most, weeks_of("low").most) == (12, 26, 52)


def test_every_code_has_words_and_every_verdict_a_source() -> None:
    for question in ("direction", "distance", "curtain", "sun", "glazing"):
        assert set(answers(question)) == set(codes(f"spot_{question}"))
    assert {"none", *answers("lamp")} == set(codes("spot_lamp"))
    for which in ("near", "lining"):
        assert set(place_codes(which)) == set(codes(f"spot_{which}"))  # type: ignore[arg-type]
        for code in place_codes(which):  # type: ignore[arg-type]
            row = verdict_on(which, code)  # type: ignore[arg-type]
            assert row.citation.key in register() and row.verdict in ("good", "fair", "poor")
            assert row.instead or row.verdict == "good"
