"""What people add to the list of jobs: who is not known yet, and who can still be asked."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils import timezone

from archive.access.models import Account
from archive.extend import Extension, Job
from archive.people.queries import not_known_yet, to_be_asked

_AT_MOST = 3  # of each; our default
_MINUTES_TO_SHOW = 10  # a picture shown to somebody who may know; our default
_MINUTES_TO_ASK = 40  # a talk, and what was said written down; our default
_ASK_FROM_AGE = 75  # our default
_ASK_AGAIN_DAYS = 180  # after a story was told; our default


def jobs(user: Account | None) -> Iterable[Job]:
    """Return for the keeper those who are not known yet, and the old ones who can still tell."""
    if user is None or not user.is_keeper:
        return
    today = timezone.localdate()
    for person in to_be_asked(user, today, _ASK_FROM_AGE, _ASK_AGAIN_DAYS, _AT_MOST):
        yield Job(
            words=f"Ask {person.name} to tell you something",
            url=person.get_absolute_url(),
            minutes=_MINUTES_TO_ASK,
            tier=3,
            benefit=8.0,
            why=f"{person.years[:1].upper()}{person.years[1:]}, and no story of the last half year is theirs.",
            key=f"people.ask/{person.public_id}",
            sort="people.ask",
            first="ring up and agree on a day; lay three pictures ready to show",
        )
    for person, count in not_known_yet(user, _AT_MOST):
        pictures = "" if not count else " in one thing" if count == 1 else f" in {count} things"
        yield Job(
            words=f"Find out who this is{pictures}: {person.name}",
            url=person.get_absolute_url(),
            minutes=_MINUTES_TO_SHOW,
            tier=3,
            why="Show it to whoever is old enough to know. A face without a name is soon nobody’s.",
            benefit=6.0,
            key=f"people.unknown/{person.public_id}",
            sort="people.unknown",
            things=max(count, 1),
        )


PEOPLE = Extension(subject="people", jobs=jobs)
