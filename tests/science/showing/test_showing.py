"""How things are shown, over the whole of kinds × states: never against what housing forbids, never a danger."""

from __future__ import annotations

import pytest

from archive.kinds import KIND_CODES, STATE_CODES
from conservation.science.housing import Input, work_out
from conservation.science.light import of_thing
from conservation.science.showing import STRUCK, how_to_show, row_of_kind
from conservation.science.sources import STATUSES, register
from conservation.science.words import codes

STATES = [None, *STATE_CODES]


def test_each_kind_has_one_class() -> None:
    assert set(row_of_kind()) == set(KIND_CODES)


@pytest.mark.parametrize("kind", sorted(KIND_CODES))
def test_nothing_that_housing_forbids_is_advised(kind: str) -> None:
    lists = {name: set(codes(name)) for name in ("mount", "show_support", "hinges", "layer", "show_glazing",
                                                 "room_rule", "fixing", "never")}  # fmt: skip
    for state in STATES:
        problem = Input(kind=kind, states=[state] if state else [])
        found, housing = how_to_show(problem), work_out(problem)
        never = set(housing["never"])
        assert found.mounts, (kind, state)
        for code, ways in STRUCK.items():
            if code in never:
                assert not set(found.mounts) & set(ways), (kind, state, code)
        if "hanging" in never:
            assert not {"padded-hanger", "sleeve-rod"} & set(found.mounts), (kind, state)
        if "laying-flat" in never:
            assert not {"flat-case", "bed-or-table"} & set(found.mounts), (kind, state)
        if "adhesive-tape" in never and found.layers:
            assert "adhesive-tape" in found.not_touch, (kind, state)
        if "buffered-contact" in never:
            assert found.board in ("unbuffered", ""), (kind, state)
        if "opening" in never:
            assert "cushion-under-lid" not in found.support and "cradle" not in found.mounts, (kind, state)
        if housing["stop"] and housing["stop"]["level"] in ("isolate-first", "leave-and-call"):
            assert found.mounts == ("nothing",) and found.why_copy == "danger", (kind, state)
        if not of_thing(kind, (), (state,) if state else ()).shown_at_all:
            assert found.mounts[0] in ("copy", "nothing"), (kind, state)
        if "light" in never:  # it is kept in the dark: a copy comes before the original
            assert found.copy_first or found.mounts[0] in ("copy", "nothing"), (kind, state)
        if state in ("torn", "shattered-silk", "brittle"):
            assert not {"padded-hanger", "sleeve-rod", "mannequin"} & set(found.mounts), (kind, state)
        if state in ("flaking", "friable"):
            assert not {"framed", "wall-frame", "sloped-board"} & set(found.mounts), (kind, state)
        if set(found.mounts) & {"framed", "wall-frame", "sleeve-rod"}:
            assert found.fixing[0] == "ladder", (kind, state)  # the caution comes first
        assert set(found.mounts) <= lists["mount"] and set(found.support) <= lists["show_support"]
        assert {found.hinges} <= lists["hinges"] and {found.glazing} <= lists["show_glazing"]
        assert set(found.layers) <= lists["layer"] and set(found.not_touch) <= lists["never"]
        assert set(found.rules) <= lists["room_rule"] and set(found.fixing) <= lists["fixing"]
        for citation in found.citations.values():
            assert citation.key in register() and citation.status in STATUSES


def test_powder_is_framed_behind_glass_and_with_more_air() -> None:
    """COG 13/5 on pastels: plastic’s static lifts powder; so glass, no acrylic, and a deep mat."""
    pastel, print_ = how_to_show(Input(kind="pastel-or-charcoal")), how_to_show(Input(kind="print-or-drawing"))
    assert pastel.glazing == "uv-glass" and pastel.spacing_mm > print_.spacing_mm > 0
    assert pastel.layers[:3] == ("glazing", "deep-mat", "thing")


def test_heavy_things_are_for_two_and_for_somebody_licensed() -> None:
    light, heavy = (how_to_show(Input(kind="mirror-or-gilt-frame", weight_g=grams)) for grams in (2_000, 14_000))
    assert "heavy" not in light.fixing and heavy.fixing[:2] == ("ladder", "heavy") and heavy.people == 2


def test_a_book_opens_on_a_cradle_and_a_case_stays_as_it_is() -> None:
    """V&A Conservation Journal 22, mounts for the display of books: support to boards and joints."""
    assert how_to_show(Input(kind="book")).mounts[0] == "cradle"
    assert "cradle-for-spine" in how_to_show(Input(kind="leather-book")).support
    assert "own-case" in how_to_show(Input(kind="daguerreotype")).support
    assert how_to_show(Input(kind="knitted-garment")).struck == (("padded-hanger", "hanging"),)
