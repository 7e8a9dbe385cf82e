"""Kinds and states as they are typed: every name and code is read, slips get the right one among those offered."""

from __future__ import annotations

import random

import pytest

from archive.kinds import kinds, states
from archive.kinds.typed import read_kind, read_state, read_word


def test_every_name_and_code_is_read() -> None:
    for each in kinds():
        forms = (each.code, each.name, each.name.upper(), each.code.replace("-", " "), f"  {each.name} ")
        assert {read_kind(form).code for form in forms} == {each.code}
    for state in states():
        assert read_state(state.code).code == read_state(state.name).code == state.code


def test_one_wrong_letter_still_offers_what_was_meant() -> None:
    """Every kind, with one letter left out, doubled or changed at a place drawn with a fixed seed."""
    chance, missed = random.Random(4), []
    for each in kinds():
        at = chance.randrange(1, len(each.name) - 1)
        for typed in (
            each.name[:at] + each.name[at + 1 :],
            each.name[:at] + each.name[at] + each.name[at:],
            each.name[:at] + "q" + each.name[at + 1 :],
        ):
            read = read_kind(typed)
            if read.code != each.code and each.name not in read.near:
                missed.append((typed, read.near))
    assert len(missed) <= 3 * len(kinds()) * 0.05, missed


@pytest.mark.parametrize(
    ("typed", "near"),
    [
        ("photo", "Photograph album"),
        ("Fotograf", "Photograph, sort not known"),
        ("leather book", "Book bound in leather"),
    ],
)
def test_a_part_of_a_name_offers_names(typed: str, near: str) -> None:
    read = read_kind(typed)
    assert read.code == "leather-book" or near in read.near


def test_nonsense_is_nothing() -> None:
    for typed in ("", "   ", "\0", "🎻", "zzzzzz", "ы" * 300):
        assert read_kind(typed).code is None
    assert read_word("Let go", [("let go", "let go"), ("kept", "kept")]).code == "let go"
