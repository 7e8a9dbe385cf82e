"""Putting pictures together: checked against what must hold for any set of pictures, and a worked evening."""

from __future__ import annotations

import itertools
from datetime import datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from archive.entry.grouping import (
    Shot,
    grouped,
    in_order,
    put_together,
    starts_all,
    starts_by_gap,
    starts_each,
)

_DAY = datetime(2019, 1, 1)  # noqa: DTZ001 - a camera’s clock has no zone
SHOTS = st.lists(
    st.builds(
        Shot,
        key=st.text("abcdef0123", min_size=1, max_size=3),
        name=st.text(max_size=8),
        taken=st.one_of(
            st.just(""), st.just("2019-02-30 10:00"), st.datetimes(_DAY, _DAY + timedelta(days=1)).map(
                lambda day: day.strftime("%Y-%m-%d %H:%M")
            )
        ),
    ),
    max_size=12,
)  # fmt: skip


@given(SHOTS, st.integers(0, 600))
def test_every_picture_is_in_one_thing_and_in_its_order(shots: list[Shot], gap: int) -> None:
    order = in_order(shots)
    assert {shot.key for shot in order} == {shot.key for shot in shots} and len(order) == len({s.key for s in shots})
    for starts in (starts_each(order), starts_all(order), starts_by_gap(order, gap), set()):
        assert [shot for group in grouped(order, starts) for shot in group] == order
    assert len(grouped(order, starts_each(order))) == len(order)
    assert len(grouped(order, starts_all(order))) == min(1, len(order))
    for group in grouped(order, starts_by_gap(order, gap)):
        times = [shot.at for shot in group]
        assert len(group) == 1 or all(
            before is not None and after is not None and timedelta(0) <= after - before <= timedelta(minutes=gap)
            for before, after in itertools.pairwise(times)
        )


def test_an_evening() -> None:
    """Front and back at once, then the next thing; a scan without a time stands at the end, 2 before 10."""
    taken = ["19:00", "19:01", "19:07", "19:20", "19:21", "19:22"]
    shots = [Shot(f"{n}", f"IMG_{n}.jpg", f"2026-11-02 {time}") for n, time in enumerate(taken)]
    shots += [Shot("x", "scan10.tif", ""), Shot("y", "scan2.tif", "2026-11-02")]
    order = in_order(reversed(shots))
    assert [shot.name for shot in order[-2:]] == ["scan2.tif", "scan10.tif"]
    groups = [[shot.key for shot in group] for group in grouped(order, starts_by_gap(order, 2))]
    assert groups == [["0", "1"], ["2"], ["3", "4", "5"], ["y"], ["x"]]


def test_nothing_typed_is_lost_when_pictures_are_put_together() -> None:
    assert put_together(["Front", "", "Back", "Front "]) == "Front; Back"
