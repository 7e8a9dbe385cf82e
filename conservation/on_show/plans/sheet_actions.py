"""Ticking a changeover sheet: what came down and what went up is recorded as it happened, in one change."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from conservation.on_show.models import PlannedShowing
from conservation.on_show.spots.actions import CannotHang, hang, take_down

__all__ = ["CannotHang", "tick"]


def tick(who: Account, down: Sequence[PlannedShowing], up: Sequence[PlannedShowing], day: date) -> None:
    """Record that showings of a plan came down and went up on a day; what comes down makes room first.

    Raises:
        CannotHang: a thing is on show elsewhere, or the day lies before it went up; nothing is recorded then.
    """
    with changing(who, "plans.tick"):
        for each in down:
            if each.showing is not None and each.showing.came_down is None:
                take_down(who, each.showing, day=day)
        for each in up:
            if each.showing is None:
                each.showing = hang(who, each.thing, each.spot, day=day, is_copy=each.is_copy, as_it_happened=True)
                touch(each)
                each.save()
