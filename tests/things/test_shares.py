"""Parts of owners: read against Python's own fractions, and sentences when they do not make one whole."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.things.shares import read_part, trouble_with


@pytest.mark.parametrize(
    ("typed", "part"),
    [
        ("1/2", "1/2"), ("½", "1/2"), ("3⁄4", "3/4"), ("one half", "1/2"), ("a quarter", "1/4"), ("two thirds", "2/3"),
        ("Third", "1/3"), ("25 %", "1/4"), ("12,5%", "1/8"), ("33.3333 per cent", "333333/1000000"), ("", "1"),
        ("all of it", "1"), ("the whole", "1"), ("two halves", "1"),
    ],
)  # fmt: skip
def test_parts_in_words_and_figures(typed: str, part: str) -> None:
    assert read_part(typed) == Fraction(part)


@pytest.mark.parametrize(
    "typed", ["1/0", "some", "the left half of the drawer", "half half", "-1/2", "1/2/3", "٪", "%"]
)
def test_what_is_no_part(typed: str) -> None:
    assert read_part(typed) is None


PART = st.builds(lambda n, d: Fraction(min(n, d), d), st.integers(1, 12), st.integers(1, 12))


@given(st.lists(PART, min_size=1, max_size=6))
def test_trouble_exactly_when_the_sum_is_not_one(parts: list[Fraction]) -> None:
    """The sum is Python's; 1 as a part is written 1/1."""
    said = trouble_with(f"{part.numerator}/{part.denominator}" for part in parts)
    assert bool(said) == (sum(parts) != 1)
    assert not said or str(sum(parts)) in said


def test_sentences() -> None:
    assert trouble_with(["1/2", "1/4"]) == "The parts add up to 3/4. Whose is the rest?"
    assert trouble_with(["1/2", "¼", "25 %"]) == ""
    assert trouble_with(["2/3", "1/2"]) == "The parts add up to 7/6. Together they should make one whole."
    assert trouble_with(["", ""]) == "" and trouble_with([""]) == ""  # together, as one says
    assert trouble_with(["1/2", ""]) == ""  # the rest is the other one's
    assert "before those that are left empty" in trouble_with(["1/2", "1/2", ""])
    assert trouble_with(["1/2", "what she chose"]) == ""  # a part in other words cannot be added up


@given(st.text(max_size=60))
def test_any_text_is_fit(typed: str) -> None:
    part = read_part(typed)
    assert part is None or part >= 0
