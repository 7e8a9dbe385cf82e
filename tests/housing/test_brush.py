"""What a page says of brushing and of sizes, beside its own cautions."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from conservation.housing.assess import advise
from conservation.science.words import word


def a_thing(kind: str, *states: str) -> Any:
    return SimpleNamespace(
        kind_code=kind, states=list(states), parts=[], made_earliest="", made_latest="", film_base="", width_mm=1800,
        height_mm=2000, depth_mm=20, weight_g=None, count=1, use="rare", strip_level="",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "states"),
    [
        # NARA and CCAHA on mould: no brushing; CCI Notes 9/2: lead powder is not brushed; pastel is not touched.
        ("letter", ["mould-dormant"]), ("lead-or-pewter", []), ("pastel-or-charcoal", []), ("letter", ["sooty"]),
        # What waits to be fetched or dealt with is not cleaned first: old chemicals, film that may be nitrate.
        ("medicine-or-chemical", []), ("nitrate-film", []), ("gas-mask", []), ("mercury-instrument", []),
    ],
)  # fmt: skip
def test_no_brush_where_the_caution_says_so(kind: str, states: list[str]) -> None:
    said = advise(a_thing(kind, *states), "metric").prepare
    assert word("prepare", "no-dusting") in said and word("prepare", "dust-soft-brush") not in said


def test_a_sound_letter_is_dusted_and_a_folded_quilt_has_no_size() -> None:
    assert word("prepare", "dust-soft-brush") in advise(a_thing("letter"), "metric").prepare
    assert not any("inside" in line.words for line in advise(a_thing("quilt"), "metric").lines)
