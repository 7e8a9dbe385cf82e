"""Jobs that come back, against the examples of RFC 5545, section 3.8.5.3, and days that months lack."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conservation.science.repeats import days_between, later_by, next_after, rule_of

_YEARS = st.dates(date(1998, 1, 1), date(2040, 12, 31))


def test_examples_of_rfc_5545() -> None:
    """RFC 5545, 3.8.5.3, with DTSTART 1997-09-02: every other day, every other week, every other month's day."""
    first, end = date(1997, 9, 2), date(1997, 12, 3)
    other_day = days_between(rule_of("day", 2, first), first, first, date(1997, 9, 30))
    assert [each.day for each in other_day] == list(range(2, 31, 2))
    other_week = days_between(rule_of("week", 2, first), first, first, end)
    told = [(9, 2), (9, 16), (9, 30), (10, 14), (10, 28), (11, 11), (11, 25)]
    assert [(each.month, each.day) for each in other_week] == told
    until = days_between(rule_of("week", 1, first, date(1997, 9, 24)), first, first, end)
    assert [each.day for each in until] == [2, 9, 16, 23]


def test_election_day_of_rfc_5545_is_read() -> None:
    """RFC 5545, 3.8.5.3: every four years the Tuesday after the first Monday of November, from 5 November 1996."""
    rule = "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8"
    first = date(1996, 11, 5)
    found = days_between(rule, first, first, date(2004, 12, 31))
    assert found == [date(1996, 11, 5), date(2000, 11, 7), date(2004, 11, 2)]


def test_a_month_that_lacks_the_day_takes_its_last() -> None:
    first = date(2026, 1, 31)
    found = days_between(rule_of("month", 1, first), first, first, date(2026, 6, 30))
    assert [(each.month, each.day) for each in found] == [(1, 31), (2, 28), (3, 31), (4, 30), (5, 31), (6, 30)]
    leap = date(2024, 2, 29)
    found = days_between(rule_of("year", 1, leap), leap, leap, date(2028, 12, 31))
    assert [(each.month, each.day) for each in found] == [(2, 29), (2, 28), (2, 28), (2, 28), (2, 29)]
    thirtieth = date(2026, 1, 30)
    assert next_after(rule_of("month", 1, thirtieth), thirtieth, date(2026, 2, 1)) == date(2026, 2, 28)


@given(st.sampled_from(["day", "week", "month", "year"]), st.integers(1, 99), _YEARS, st.integers(0, 900))
def test_the_next_day_is_the_first_of_the_days_to_come(unit: str, every: int, first: date, wait: int) -> None:
    rule = rule_of(unit, every, first)  # type: ignore[arg-type]
    after = date.fromordinal(first.toordinal() + wait)
    found = next_after(rule, first, after)
    assert found is not None and found > after
    assert days_between(rule, first, date.fromordinal(after.toordinal() + 1), found) == [found]
    assert days_between(rule, first, first, first) == [first]


def test_counted_from_the_day_it_was_done() -> None:
    assert later_by("month", 1, date(2026, 1, 31)) == date(2026, 2, 28)
    assert later_by("week", 3, date(2026, 1, 31)) == date(2026, 2, 21)


def test_it_may_come_no_more() -> None:
    first = date(2026, 3, 1)
    assert next_after(rule_of("week", 1, first, date(2026, 3, 10)), first, date(2026, 3, 8)) is None
    with pytest.raises(ValueError, match="every one or more"):
        rule_of("day", 0, first)
