"""What things add to the list of jobs: what is lent or borrowed and due."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from django.urls import reverse
from django.utils import timezone

from archive.access.models import Account
from archive.extend import Extension, Job
from archive.things.page_queries import due_back

_DAYS_BEFORE = 7  # a week is time enough to ring somebody up; our default
_MINUTES = 10  # a call, and perhaps a parcel; our default


def jobs(user: Account | None) -> Iterable[Job]:
    """Remind the keeper a week before a loan is due, and until it is back."""
    if user is None or not user.is_keeper:
        return
    today = timezone.localdate()
    last = today + timedelta(days=_DAYS_BEFORE)
    for each in due_back(last):
        yield Job(
            words=f"Give {each.thing} back to {each.whom}" if each.to_us else f"Ask {each.whom} for {each.thing}",
            url=reverse("things:page" if each.to_us else "things:loans", args=[each.public_id]),
            minutes=_MINUTES,
            due=each.until,
            benefit=6.0,  # as much as something of which nothing more is known
            key=f"things.loan/{'to' if each.to_us else 'from'}/{each.public_id}/{each.until}",
            sort="things.loan",
            first="ring up and agree on a day",
            why=_why("It is on loan to us and" if each.to_us else "It is lent and", each.until, today),
        )


def _why(start: str, due: date, today: date) -> str:
    day = f"{due.day} {due:%B %Y}"
    return f"{start} was due on {day}." if due < today else f"{start} is due on {day}."


THINGS = Extension(subject="things", jobs=jobs)
