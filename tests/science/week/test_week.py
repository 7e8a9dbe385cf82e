"""The best set of jobs for the time there is, checked against trying all sets and against another solver."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from conservation.science.figures import figures
from conservation.science.week import Offer, learn, pick, worth

_OFFERS = st.lists(
    st.builds(
        lambda minutes, points, before: (minutes, points, before),
        st.integers(1, 40),
        st.integers(0, 9000),
        st.booleans(),
    ),
    max_size=9,
)


def _named(rows: list[tuple[int, int, bool]]) -> list[Offer]:
    return [Offer(f"job {n}", *row) for n, row in enumerate(rows)]


def _by_trying_all(offers: list[Offer], minutes: int) -> tuple[int, int, int]:
    """The best of all sets: points that go before, the other points, and the fewest minutes for them, negative."""
    sets = (some for size in range(len(offers) + 1) for some in combinations(offers, size))
    return max(
        (
            sum(each.points for each in some if each.before),
            sum(each.points for each in some if not each.before),
            -sum(each.minutes for each in some),
        )
        for some in sets
        if sum(each.minutes for each in some) <= minutes
    )


@settings(max_examples=250, deadline=None)
@given(_OFFERS, st.integers(0, 120))
def test_no_set_is_better(rows: list[tuple[int, int, bool]], minutes: int) -> None:
    offers = _named(rows)
    picked = pick(offers, minutes)
    assert (*picked.points, -picked.minutes) == _by_trying_all(offers, minutes)
    chosen = [each for each in offers if each.key in picked.keys]
    assert sum(each.minutes for each in chosen) == picked.minutes <= minutes
    assert picked == pick(offers, minutes)


@settings(max_examples=150, deadline=None)
@given(_OFFERS, st.integers(0, 110), st.integers(0, 20))
def test_more_time_is_never_worth_less(rows: list[tuple[int, int, bool]], minutes: int, more: int) -> None:
    offers = _named(rows)
    assert pick(offers, minutes + more).points >= pick(offers, minutes).points


def test_against_another_solver() -> None:
    """OR-tools' knapsack (branch and bound, Apache licence) on 120 jobs in eight hours."""
    from ortools.algorithms.python import knapsack_solver

    offers = [Offer(str(n), 3 + (n * 37) % 55, 500 + (n * 7919) % 12_000) for n in range(120)]
    kind = knapsack_solver.SolverType.KNAPSACK_MULTIDIMENSION_BRANCH_AND_BOUND_SOLVER
    solver = knapsack_solver.KnapsackSolver(kind, "jobs")
    solver.init([each.points for each in offers], [[each.minutes for each in offers]], [480])
    assert pick(offers, 480).points == (0, solver.solve())


def test_sets_worth_the_same_are_settled_by_time_and_then_by_order() -> None:
    alike = [Offer("a", 10, 500), Offer("b", 10, 500), Offer("c", 5, 500)]
    assert pick(alike, 15).keys == ("a", "c")
    assert pick(alike, 10).keys == ("c",)
    assert pick([Offer("long", 20, 500), Offer("short", 10, 500)], 20).keys == ("short",)


def test_what_only_the_living_can_tell_goes_before() -> None:
    offers = [Offer("many points", 30, 9_000_000), Offer("ask", 30, 1, before=True), Offer("worth nothing", 1, 0)]
    assert pick(offers, 30).keys == ("ask",)
    assert pick(offers, 61).keys == ("many points", "ask")


@pytest.mark.parametrize("offer", [Offer("x", 0, 5), Offer("x", 5, -1)])
def test_what_makes_no_sense_is_refused(offer: Offer) -> None:
    with pytest.raises(ValueError, match="at least a minute"):
        pick([offer], 10)
    with pytest.raises(ValueError, match="at least a minute"):
        pick([], -1)


def test_worth_is_a_product_and_grows_with_each_part() -> None:
    plain = worth(4, 2.5, 1.5)
    assert plain.points == 15_000
    assert worth(4, 2.5, 1.5, things=4).points == 30_000
    assert worth(4, 2.5, 1.5, days_left=-1).points > worth(4, 2.5, 1.5, days_left=3).points > plain.points
    assert worth(4, 2.5, 1.5, days_left=300).points == plain.points
    assert worth(None, None, None, benefit=7.5).points == 7_500
    assert worth(None, 3, None, benefit=7.5).points == 9_000  # what is known counts, not the benefit


def test_own_times_correct_ours_slowly_and_within_bounds() -> None:
    assert learn(15, []).minutes == 15
    once = learn(15, [(15, 60)])
    often = learn(15, [(15, 60)] * 10)
    assert 15 < once.minutes < often.minutes < 60
    # One time of 60 for 15: the third root of 4 (one time against two of ours).
    assert once.factor == pytest.approx(4 ** (1 / 3)) and once.times == 1
    assert learn(20, [(1, 600)] * 12).factor == figures("week").value("factor_most")
    assert learn(20, [(600, 1)] * 12).minutes == 5
    # The latest twelve count: older ones do not pull.
    assert learn(10, [(10, 10)] * 12 + [(10, 400)] * 50).minutes == 10
    assert learn(1, [(100, 1)] * 12).minutes == 1
