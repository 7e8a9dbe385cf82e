"""What the tests of This week share."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from conservation.this_week import actions, assess, queries
from conservation.this_week.assess import Line, Week
from conservation.this_week.models import OwnJob


def own_job(keeper: Any, words: str, **values: Any) -> OwnJob:
    """A job of the keeper's own."""
    plain = {"due": None, "repeat": "", "every": 1, "from_done": False, "until": None, "tier": 4, "minutes": 15}
    return actions.save_own(keeper, None, {**plain, "words": words, **values})


def lines(keeper: Any) -> list[Line]:
    """All jobs as lines."""
    found = queries.jobs(keeper)
    said = queries.kept(found)
    said.in_hand = []
    return assess.lines_of(found, said, timezone.localdate())


def a_line(keeper: Any, key: str) -> Line:
    """The line of one job."""
    return next(each for each in lines(keeper) if each.key == key)


def this_week(keeper: Any, have: int | None = None) -> Week:
    """This week as the first page has it."""
    found = queries.jobs(keeper)
    return assess.plan(found, queries.kept(found), timezone.localdate(), have)


def words_of(some: Any) -> list[str]:
    """The words of lines."""
    return [each.job.words for each in some]
