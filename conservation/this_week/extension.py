"""What This week adds: the first page, and the keeper's own jobs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from django.urls import reverse

from archive.access.models import Account
from archive.extend import Extension, Job
from conservation.this_week.routes import ROUTES


def jobs(user: Account | None) -> Iterable[Job]:
    """Return the keeper's own jobs."""
    from conservation.this_week.assess import repeat_words
    from conservation.this_week.queries import own_jobs

    if user is None or not user.is_keeper:
        return
    for own in own_jobs():
        yield Job(
            words=own.words,
            url=reverse("this_week:own", args=[own.public_id]),
            minutes=own.minutes,
            due=own.due,
            tier=own.tier,
            why=f"A job of your own. {repeat_words(own)}".strip(),
            key=own.key,
            sort=own.key,
            first=own.first,
            matters=own.matters,
        )


def demo(household: Mapping[str, Any], keeper: Account, draw: Callable[[str, int, str], Any]) -> None:
    """Record the demo household's week."""
    from conservation.this_week.demo import add_week

    add_week(household, keeper, draw)


THIS_WEEK = Extension(
    subject="this_week",
    jobs=jobs,
    urls="conservation.this_week.urls",
    routes=ROUTES,
    home="this_week:page",
    demo=demo,
)
