"""Days that matter by table, proposed days of change, and plans changed by hand, against the judge."""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from conservation.science import occasions
from conservation.science.occasions import Known
from conservation.science.rotation.by_hand import broken_by, longest_legal
from conservation.science.rotation.days import begun_with, propose
from conservation.science.rotation.hindrance import hindrance
from conservation.science.rotation.judge import Showing, clashes
from conservation.science.rotation.problem import Input


@pytest.mark.parametrize(
    ("edtf", "earliest", "latest", "grip"),
    [
        ("1904-02-29", "1904-02-29", "1904-02-29", "day"),
        ("1931-05-12?", "1931-05-12", "1931-05-12", "week"),
        ("1931-05-12~", "1931-05-12", "1931-05-12", "none"),
        ("[1910-05-12,1910-05-13]", "1910-05-12", "1910-05-13", "week"),
        ("1910-05-01/1910-05-07", "1910-05-01", "1910-05-07", "week"),
        ("1910-05-01/1910-05-08", "1910-05-01", "1910-05-08", "none"),
        ("1910-05", "1910-05-01", "1910-05-31", "none"),
        ("1910", "1910-01-01", "1910-12-31", "none"),
        ("../1910", "", "1910-12-31", "none"),
        ("-0043-03-15", "-0043-03-15", "-0043-03-15", "none"),
    ],
)
def test_which_dates_make_a_day(edtf: str, earliest: str, latest: str, grip: str) -> None:
    assert occasions.grip_of(edtf, earliest, latest) == grip


# The years that have a 29 February are those of the Gregorian calendar (Inter gravissimas, 1582): 1900 has none.
@pytest.mark.parametrize(
    ("year", "day"), [(1996, (2, 29)), (1900, (2, 28)), (2000, (2, 29)), (2026, (2, 28)), (2028, (2, 29))]
)
def test_a_leap_day_birth_is_kept_every_year(year: int, day: tuple[int, int]) -> None:
    assert occasions.day_in(year, 2, 29) == date(year, *day)


@pytest.mark.parametrize(
    ("kind", "years", "weight"),
    [
        ("birthday", 24, 1), ("birthday", 25, 2), ("birthday", 50, 3), ("birthday", 75, 2), ("birthday", 100, 3),
        ("birthday-living", 61, 2), ("birthday-living", 75, 3), ("wedding", 26, 2), ("wedding", 25, 3),
        ("letter", 24, 0), ("letter", 25, 1), ("letter", 100, 2), ("made", 150, 2), ("death", 1, 1), ("story", 200, 3),
    ],
)  # fmt: skip
def test_round_years_weigh_more(kind: str, years: int, weight: int) -> None:
    assert occasions.weight_of(kind, years) == weight


def test_anniversaries_of_a_span_over_new_year() -> None:
    known = [
        Known("a", "birthday", "1904-02-29", "1904-02-29", "1904-02-29"),
        Known("b", "letter", "1925-12-24", "1925-12-24", "1925-12-24"),
        Known("c", "birthday", "2026-03-01", "2026-03-01", "2026-03-01"),  # the day itself is no anniversary
    ]
    found = occasions.comings(known, date(2025, 12, 1), date(2026, 11, 29))
    assert [(each.key, each.day, each.years) for each in found] == [
        ("b", date(2025, 12, 24), 100),
        ("a", date(2026, 2, 28), 122),
    ]


def test_a_year_alone_makes_no_day_but_is_told_of_when_it_is_round() -> None:
    rows = [
        Known("q", "made", "1926", "1926-01-01", "1926-12-31"),
        Known("r", "made", "1927", "1927-01-01", "1927-12-31"),
    ]
    assert occasions.round_years(rows, 2026) == [("q", 100)]
    assert occasions.comings(rows, date(2026, 1, 1), date(2026, 12, 31)) == []


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("How we moved in", "move"),
        ("He was called up in March", "service"),
        ("Warm bread", "story"),
        ("Removed", "story"),
    ],
)
def test_stories_of_moves_and_service_by_their_words(text: str, kind: str) -> None:
    assert occasions.story_kind(text) == kind


@given(
    weeks=st.integers(1, 104), number=st.integers(1, 20), first=st.integers(0, 40),
    days=st.lists(st.tuples(st.integers(0, 103), st.integers(1, 3)), max_size=12),
)  # fmt: skip
@settings(max_examples=80, deadline=None)
def test_proposed_days_of_change_keep_their_distance(
    weeks: int, number: int, first: int, days: list[tuple[int, int]]
) -> None:
    first = min(first, weeks - 1)
    found = propose(weeks, number, days, first)
    assert found[0] == first and found == sorted(set(found)) and len(found) <= max(1, number)
    assert all(later - earlier >= 3 for earlier, later in pairwise([*found, weeks][: len(found)]))
    assert found[-1] < weeks


def test_proposed_days_lie_before_heavy_days_and_are_as_many_as_asked() -> None:
    assert len(propose(52, 6, [])) == 6
    heavy = propose(52, 6, [(10, 3), (31, 3)])
    assert any(8 <= week <= 10 for week in heavy) and any(29 <= week <= 31 for week in heavy)


def test_a_plan_is_begun_with_few_days_of_change_and_little_time() -> None:
    assert begun_with()["changeovers"] == 6 and begun_with()["seconds"] == 20


def _problem(**changes: Any) -> Input:
    spot = {"id": "wall", "capacity": 1, "width_mm": 500, "height_mm": 500, "lux": 50, "hours_per_day": 8}
    thing = {"id": "print", "width_mm": 300, "height_mm": 200, "annual_limit_lxh": 15000, "max_weeks": 12, "value": 3}
    raw = {"weeks": 20, "spots": [spot], "things": [{**thing, **changes.pop("thing", {})}], **changes}
    return Input.model_validate(raw)


def test_the_longest_legal_showing_is_what_a_hand_sum_says() -> None:
    # 50 lx × 8 h × 7 d = 2,800 lx h a week; 15,000 ÷ 2,800 = 5.36, so five whole weeks.
    found = longest_legal(_problem(), [], "print", "wall", 3)
    assert found == Showing("print", "wall", 3, 5)
    broken = broken_by(_problem(), [], Showing("print", "wall", 3, 6))
    assert [each.rule for each in broken] == ["annual_limit_lxh"] and "16800" in broken[0].say


def test_days_of_change_bound_the_longest() -> None:
    problem = _problem(change_weeks=[4, 7, 10])
    assert longest_legal(problem, [], "print", "wall") == Showing("print", "wall", 0, 4)
    assert longest_legal(problem, [], "print", "wall", 5) is None


@pytest.mark.parametrize(
    ("thing", "code"),
    [
        ({"width_mm": 600}, "size"),
        ({"barred_spots": ["wall"]}, "barred"),
        ({"lux_ceiling": 40}, "lux"),
        ({"used_lxh": 14000}, "light"),
        ({"used_lxh": 15001}, "spent"),
        ({"not_before_week": 19}, "weeks"),
        ({}, None),
    ],
)
def test_what_stands_in_the_way(thing: dict[str, Any], code: str | None) -> None:
    problem = _problem(thing=thing)
    found = hindrance(problem, problem.things[0])
    assert (found.code if found else None) == code


_SHOWN = st.builds(
    Showing, st.sampled_from(["a", "b"]), st.sampled_from(["s", "t"]), st.integers(0, 9), st.integers(1, 6)
)


@given(plan=st.lists(_SHOWN, max_size=4, unique=True), one=_SHOWN, limit=st.sampled_from([None, 6000, 20000]))
@settings(max_examples=150, deadline=None)
def test_judging_one_showing_by_its_neighbours_is_judging_the_whole_plan(
    plan: list[Showing], one: Showing, limit: int | None
) -> None:
    """The whole plan's judge is the check: what it holds against the one showing, and nothing else, is said."""
    raw = {
        "weeks": 12, "change_weeks": None,
        "spots": [
            {"id": "s", "width_mm": 400, "height_mm": 400, "lux": list(range(30, 90, 5)), "hours_per_day": 8},
            {"id": "t", "capacity": 2, "width_mm": 200, "height_mm": 400, "lux": 60, "hours_per_day": 6},
        ],
        "things": [
            {"id": "a", "width_mm": 300, "height_mm": 300, "annual_limit_lxh": limit, "value": 1, "rest_weeks": 2},
            {"id": "b", "width_mm": 100, "height_mm": 100, "lux_ceiling": 70, "value": 2, "max_weeks": 4},
        ],
    }  # fmt: skip
    problem = Input.model_validate(raw)
    whole = [each for each in clashes(problem, [*[each for each in plan if each != one], one]) if one in each.showings]
    near = broken_by(problem, plan, one)
    assert sorted(each.rule for each in near) == sorted(each.rule for each in whole)
    longest = longest_legal(problem, [], one.thing, one.spot)
    if longest is not None:
        assert not clashes(problem, [longest])
        longer = Showing(longest.thing, longest.spot, longest.from_week, longest.weeks + 1)
        assert clashes(problem, [longer])
