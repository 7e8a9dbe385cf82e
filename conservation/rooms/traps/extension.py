"""What insect traps add to the catalogue's pages: when they are to be counted or renewed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import groupby
from typing import Any

from django.urls import reverse
from django.utils import timezone

from archive.access.models import Account
from archive.extend import Extension, Job
from conservation.rooms.traps.routes import ROUTES

_MINUTES_EACH = 3  # to count or renew one trap; our default


def jobs(user: Account | None) -> Iterable[Job]:
    """Return for each room the traps to count, to renew, and those that caught too much; two queries."""
    if user is None or not user.is_keeper:
        return
    from conservation.rooms.traps import assess, queries

    today = timezone.localdate()
    shown = [assess.show(each) for each in queries.traps_laid()]
    for room, each in groupby(shown, key=lambda one: one.trap.room):
        here = list(each)
        url = reverse("rooms:room_traps", args=[room.public_id])
        for which, words, days in (
            ("count", "Count the traps", {one.trap.label: one.count_due for one in here}),
            ("renew", "Lay new traps", {one.trap.label: one.renew_due for one in here}),
        ):
            due = {label: day for label, day in days.items() if day <= today}
            if due:
                numbers = ", ".join(str(label) for label in due)
                yield Job(
                    words=f"{words}: {room.title}", url=url, minutes=_MINUTES_EACH * len(due), due=min(due.values()),
                    why=f"Trap {numbers}." if len(due) == 1 else f"Traps {numbers}.", matters=3.0, vulnerable=1.0,
                    exposed=1.0, key=f"traps.{which}/{room.public_id}", sort=f"traps.{which}",
                )  # fmt: skip
        for one in here:
            if one.alarming and one.last.counted_on >= today - assess.LATELY:
                names = ", ".join(f"{group.name.lower()} {group.animals}" for group in one.alarming)
                yield Job(
                    words=f"Find what trap {one.trap.label} in {room.title} caught them from",
                    url=one.trap.get_absolute_url(), minutes=20, due=one.last.counted_on, tier=4,
                    why=f"In the last count: {names}.", matters=3.0, vulnerable=2.0, exposed=2.0, tick=True,
                    again_days=30, key=f"traps.look/{one.trap.public_id}", sort="traps.look",
                )  # fmt: skip


def demo(household: Mapping[str, Any], keeper: Account, draw: Any) -> None:
    """Record the demo's traps and their counts."""
    from conservation.rooms.traps.demo import add_traps

    add_traps(household, keeper)


TRAPS = Extension(subject="traps", jobs=jobs, routes=ROUTES, demo=demo)
