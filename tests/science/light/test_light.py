"""Light: the worked checks of published texts, the classes of CIE 157, and what must always hold."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.kinds import KIND_CODES, STATE_CODES
from conservation.science.light import fade_dose_lxh, light_of_kinds, of_thing, series
from conservation.science.problem import InputError
from conservation.topics import answer


def light(**problem: Any) -> dict[str, Any]:
    return answer("light", json.dumps(problem))


@pytest.mark.parametrize(
    ("lux", "hours", "days", "dose"),
    [
        (50, 8, 365, 146_000),  # 50 lx, 8 h a day for a year: plain arithmetic
        (50, 0.083, 10, 41.5),  # Conservation Center (Philadelphia), Light Exposure of Artifacts on Exhibition
        (30, 10, 150, 45_000),  # Wagner, McCabe, Lemmen 2001: 30 lx for five months
        (50, 10, 90, 45_000),  # the same: 50 lx for three months
        (450, 12, 365, 1_971_000),  # homes by the one convention of print testing
        (120, 12, 365, 525_600),  # and by the other; ratio 3.75
        (100, 5, 1, 500),  # reciprocity, NEDCC: 100 lx for 5 h is 50 lx for 10 h
        (50, 10, 1, 500),
    ],
)
def test_doses(lux: float, hours: float, days: float, dose: float) -> None:
    assert light(responsivity="high", lux=lux, hours_per_day=hours, days=days)["dose_lxh"] == pytest.approx(dose)


def test_thirty_million_at_fifty_lux_is_about_two_hundred_years() -> None:
    """Padfield: 30 million lux hours at 50 lx, 8 h a day; 205.48 years by arithmetic, “about 200” in the text."""
    years = light(blue_wool=5, uv_filtered=True, lux=50, hours_per_day=8)["years_to_first_fade"]
    assert years == pytest.approx(205.48, rel=1e-4) and years == pytest.approx(200, rel=0.05)


@pytest.mark.parametrize(("lux", "days"), [(50, 30), (100, 15)])
def test_days_left_in_the_high_class(lux: float, days: float) -> None:
    """Conservation DistList, 19 August 2013: 15,000 lx h at 10 h a day is a month at 50 lx, two weeks at 100 lx."""
    found = light(responsivity="high", lux=lux, hours_per_day=10)
    assert found["days_left_this_year"] == pytest.approx(days)
    assert light(responsivity="high", lux=lux, hours_per_day=10, already_lxh=20_000)["days_left_this_year"] == 0


@pytest.mark.parametrize(
    ("blue_wool", "uv_filtered", "years"),
    # Series A at 150,000 lx h a year (50 lx, 3,000 h), as the reference derives them; arithmetic only.
    [(1, False, 1.467), (3, True, 20.0), (4, False, 23.33), (6, True, 666.7), (7, False, 333.3), (8, True, 7333)],
)
def test_years_to_a_fade(blue_wool: int, uv_filtered: bool, years: float) -> None:
    found = light(blue_wool=blue_wool, uv_filtered=uv_filtered, lux=50, hours_per_day=3000 / 365, lifetime_fades=7)
    assert found["years_to_first_fade"] == pytest.approx(years, rel=1e-3)
    assert found["years_to_end"] == pytest.approx(7 * years, rel=1e-3)


def test_the_policy_of_a_fade_in_fifty_years() -> None:
    """Smith, Into the light, 2009: at 50 lx, 8 h a day, a fifth of the time, 50 years make 1,460,000 lx h."""
    found = light(blue_wool=3, lux=50, hours_per_day=8)
    assert 50 * found["dose_lxh"] * 0.2 == pytest.approx(1_460_000)
    assert found["duty_share_for_policy"] == pytest.approx(1_500_000 / (146_000 * 50))
    assert light(blue_wool=8, lux=50, hours_per_day=8)["duty_share_for_policy"] == 1


# CIE 157:2004, clause 3.1.1: class, blue wools, lux, lux hours a year, as Progettando 2/2015 prints them.
CIE = [("low", (7, 8), 200, 600_000), ("medium", (4, 5, 6), 50, 150_000), ("high", (1, 2, 3), 50, 15_000)]


@pytest.mark.parametrize(("name", "blue_wools", "lux", "dose"), CIE)
def test_classes(name: str, blue_wools: tuple[int, ...], lux: int, dose: int) -> None:
    found = light(responsivity=name, lux=lux + 1, hours_per_day=1)
    assert (found["lux_limit"], found["annual_limit_lxh"], found["over_lux_limit"]) == (lux, dose, True)
    assert not light(responsivity=name, lux=lux, hours_per_day=1)["over_lux_limit"]
    assert found["fade_dose_lxh"] == [fade_dose_lxh(blue_wools[0], False), fade_dose_lxh(blue_wools[-1], False)]
    for blue_wool in blue_wools:
        assert light(blue_wool=blue_wool, lux=1, hours_per_day=1)["responsivity"] == name


def test_what_light_does_no_harm_has_no_limit() -> None:
    found = light(responsivity="none", lux=5000, hours_per_day=24)
    for field in ("annual_limit_lxh", "lux_limit", "share_of_limit", "days_left_this_year", "fade_dose_lxh",
                  "years_to_first_fade", "years_to_end", "duty_share_for_policy"):  # fmt: skip
        assert found[field] is None
    assert found["over_lux_limit"] is False and found["show_a_copy"] is False and found["dose_lxh"] == 5000 * 24 * 365


@pytest.mark.parametrize("lux", [0, 1e-310])
def test_no_light_and_next_to_none_have_no_end(lux: float) -> None:
    found = light(blue_wool=8, lux=lux, hours_per_day=1, already_lxh=1e300)
    assert found["days_left_this_year"] is found["years_to_end"] is found["duty_share_for_policy"] is None
    assert len(found["notes"]) == 2


def test_silver_gelatin_hand_colouring_and_what_is_never_shown() -> None:
    plain = light(kind="silver-gelatin-print", lux=100, hours_per_day=1)
    assert (plain["responsivity"], plain["lux_limit"], plain["over_lux_limit"]) == ("medium", 100, False)
    coloured = light(kind="silver-gelatin-print", states=["hand-coloured"], lux=100, hours_per_day=1)
    assert (coloured["responsivity"], coloured["lux_limit"], coloured["show_a_copy"]) == ("high", 50, True)
    assert light(kind="photograph-unknown", lux=1, hours_per_day=1)["responsivity"] == "high"
    assert light(kind="autochrome", lux=0, hours_per_day=0)["show_a_copy"]


def test_what_fades_sooner_than_the_fastest_blue_wool_is_said() -> None:
    """Conservation DistList, 21 September 1998: blue wool 1 is not sensitive enough for salted and albumen prints."""
    found = light(kind="salted-or-albumen-print", lux=1, hours_per_day=1)
    assert "half" in found["notes"][0] and "distlist-1998" in {each["key"] for each in found["sources"]}
    assert light(kind="cyanotype", lux=1, hours_per_day=1)["notes"] == []


def test_the_most_sensitive_part_governs() -> None:
    medal = light(kind="coin", parts=["silk-textile"], lux=1, hours_per_day=1)
    assert medal["responsivity"] == "high" and medal["annual_limit_lxh"] == 15_000
    assert light(kind="coin", lux=1, hours_per_day=1)["responsivity"] == "none"
    both = light(kind="silver-gelatin-print", parts=["wooden-object"], lux=1, hours_per_day=1)
    assert both["lux_limit"] == 100 and both["responsivity"] == "medium"


def test_the_two_series_are_kept_apart() -> None:
    """Boston’s encyclopaedia: 0.4 and 900 million at the ends of series B, “some 2,000 times” between them."""
    older = series("b").uv_filtered
    assert older[0] == 400_000 and older[-1] == 900_000_000
    assert older[-1] / older[0] == pytest.approx(2000, rel=0.15)
    assert series("a").uv_filtered[0] == 300_000
    with pytest.raises(ValueError, match="series B"):
        fade_dose_lxh(1, uv_filtered=False, which="b")


@given(
    kind=st.sampled_from(sorted(KIND_CODES)),
    parts=st.lists(st.sampled_from(sorted(KIND_CODES)), max_size=3),
    more=st.sampled_from(sorted(KIND_CODES)),
    states=st.lists(st.sampled_from(sorted(STATE_CODES - {"sound"})), max_size=3),
)
def test_another_part_never_makes_a_thing_bear_more(kind: str, parts: list[str], more: str, states: list[str]) -> None:
    order = ("none", "low", "medium", "high")
    before, after = of_thing(kind, tuple(parts), tuple(states)), of_thing(kind, (*parts, more), tuple(states))
    assert order.index(after.responsivity) >= order.index(before.responsivity)
    assert (after.lux_limit or 10**9) <= (before.lux_limit or 10**9)
    assert after.shown_at_all <= before.shown_at_all


def test_every_kind_has_its_blue_wool_with_a_source() -> None:
    assert set(light_of_kinds()) == set(KIND_CODES)
    for kind in KIND_CODES:
        found = light(kind=kind, lux=50, hours_per_day=8)
        assert found["sources"] and all(each["locator"] for each in found["sources"])


@pytest.mark.parametrize(
    ("problem", "path"),
    [
        ({"lux": 1, "hours_per_day": 1}, "kind"),
        ({"kind": "letter", "responsivity": "low", "lux": 1, "hours_per_day": 1}, "responsivity"),
        ({"responsivity": "low", "parts": ["letter"], "lux": 1, "hours_per_day": 1}, "parts"),
        ({"blue_wool": 9, "lux": 1, "hours_per_day": 1}, "blue_wool"),
        ({"blue_wool": 1, "lux": True, "hours_per_day": 1}, "lux"),
        ({"blue_wool": 1, "lux": 1, "hours_per_day": 25}, "hours_per_day"),
        ({"kind": "letter", "lux": -1, "hours_per_day": 1}, "lux"),
    ],
)
def test_unusable_input(problem: dict[str, Any], path: str) -> None:
    with pytest.raises(InputError) as caught:
        answer("light", json.dumps(problem))
    assert caught.value.path == path
