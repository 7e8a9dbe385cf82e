"""Traps: what counts say; cleaning: cautions that exist."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from conservation.science import cleaning, traps
from conservation.science.rounds import cautions, checks
from conservation.science.rounds.tables import groups

DAY = date(2026, 5, 1)


def _counts(*numbers: int, group: str = "moth", every: int = 30) -> list[traps.Count]:
    return [
        traps.Count(DAY + timedelta(days=every * n), DAY + timedelta(days=every * (n - 1)), {group: number})
        for n, number in enumerate(numbers)
    ]


def _of(counts: list[traps.Count], group: str = "moth") -> traps.Judgement:
    return next(each for each in traps.judge(counts) if each.group.code == group)


@pytest.mark.parametrize(
    ("counts", "level", "trend"),
    [
        ([0], "quiet", "unknown"),
        ([1], "look", "unknown"),
        ([0, 0, 0], "quiet", "steady"),
        ([0, 0, 2], "look", "rising"),
        ([4, 4, 4, 1], "look", "falling"),
        ([4, 4, 4, 0], "quiet", "falling"),
        ([2, 2, 2], "look", "steady"),
    ],
)
def test_counts_by_table(counts: list[int], level: str, trend: str) -> None:
    found = _of(_counts(*counts))
    assert (found.level, found.trend) == (level, trend)


def test_a_week_is_not_judged_as_three_months() -> None:
    assert _of(_counts(2, group="silverfish", every=30), "silverfish").level == "some"
    assert _of(_counts(2, group="silverfish", every=14), "silverfish").level == "look"
    assert _of(_counts(0, 2, group="silverfish", every=1), "silverfish").per_month == pytest.approx(2 * 30 / 7)


def test_five_groups_each_with_a_threshold_whose_status_is_ours() -> None:
    assert [each.code for each in traps.groups()] == ["moth", "beetle", "larva", "silverfish", "other"]
    assert all(each.per_month > 0 and each.check in checks() for each in traps.groups())
    assert all(set(each.threatens) <= groups().keys() for each in traps.groups())
    assert traps.threshold_citation().status == "our default"


def test_a_trap_is_renewed_within_the_two_to_three_months_of_the_reference() -> None:
    """the reference on housing §8: replace every 2–3 months; a lure about 8–12 weeks (both from memory)."""
    assert 60 <= (traps.replace_on(DAY, lure=False) - DAY).days <= 92
    assert 56 <= (traps.replace_on(DAY, lure=True) - DAY).days <= 84
    assert traps.rule_citation("replace_after").status == "from memory"


def test_placing_says_that_traps_do_not_cure() -> None:
    assert any("do not cure" in words for words, _ in traps.placing())


def test_cleaning_after_mould_and_droppings_begins_with_the_caution() -> None:
    tasks = {each.code: each for each in cleaning.tasks()}
    assert {tasks["after-mould"].caution, tasks["after-droppings"].caution} == {"mould", "droppings"}
    assert all(each.caution in {"", *cautions()} and each.steps for each in tasks.values())
    lines, _ = cleaning.never()
    assert any("wet-clean" in line for line in lines)
