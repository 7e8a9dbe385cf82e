"""The drawn plan, on a desk and on a phone: each showing where its weeks are, none over another."""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import pytest

from conservation.on_show.plans.assess_drawing import NARROW, WIDE, Shape, grid


def _row(spot: int, first: int, weeks: int, title: str) -> Any:
    return SimpleNamespace(
        pk=first, spot_id=spot, from_week=first, weeks=weeks, thing=SimpleNamespace(title=title), showing=None,
        is_copy=False, pinned=False,
    )  # fmt: skip


@pytest.mark.parametrize("shape", [WIDE, NARROW], ids=["wide", "narrow"])
def test_each_showing_is_drawn_at_its_weeks_and_none_over_another(shape: Shape) -> None:
    plan: Any = SimpleNamespace(starts_on=date(2026, 7, 6), weeks=52, change_weeks=[0, 13, 26])
    rows = [
        _row(1, 0, 13, "Medal"),
        _row(1, 13, 39, "Hat"),
        _row(1, 4, 20, "Fiddle"),
        _row(2, 51, 1, "A very long name"),
    ]
    spots: Any = [SimpleNamespace(pk=n, title=f"Wall {n}") for n in (1, 2, 3)]
    drawn = grid(plan, rows, spots, [], date(2026, 10, 5), shape)
    week = shape.weeks / 52
    places = {bar.title.split(",")[0]: bar for lane in drawn.lanes for bar in lane.bars}
    assert places["Hat"].x == pytest.approx(shape.beside + 13 * week + 1, abs=0.1)
    assert places["Hat"].width == pytest.approx(39 * week - 2, abs=0.1) and places["Hat"].y == places["Medal"].y
    assert places["Fiddle"].y == places["Medal"].y + 40  # in a row of its own, since both hang then
    assert drawn.today == pytest.approx(shape.beside + 13 * week, abs=0.1)
    for lane, below in zip(drawn.lanes, [*drawn.lanes[1:], None], strict=True):
        end = below.y if below else drawn.height
        assert all(lane.y + shape.above < bar.y and bar.y + 32 <= end for bar in lane.bars)
        assert all(shape.beside <= bar.x and bar.x + bar.width <= drawn.width for bar in lane.bars)
    # Names of months do not run into one another, nor past the edge.
    named = [x for x, name in drawn.months if name]
    assert len(named) >= 6 and all(b - a >= shape.month for a, b in pairwise(named))
    assert named[-1] + shape.month <= drawn.width
