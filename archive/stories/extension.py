"""What stories add to other pages: what is told of a thing, and the stories that the keeper has yet to read."""

from __future__ import annotations

from collections.abc import Iterable

from django.urls import reverse

from archive.access.models import Account
from archive.extend import Extension, Job, Panel
from archive.stories.queries import stories_of_thing, unread, unread_with_subjects
from archive.things.models import Thing

_JOBS = 3
_MINUTES = 5  # to read one story and think about it; our default


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Return the stories of a thing; a visitor gets no empty section."""
    told = stories_of_thing(thing, user)
    if told.rows or user is not None:
        yield Panel("Stories", "stories/panel.html", {"told": told}, order=30)


def jobs(user: Account | None) -> Iterable[Job]:
    """Return what the family told and the keeper has not read: who told it can still be asked."""
    if user is None or not user.is_keeper:
        return
    named = unread_with_subjects(user, _JOBS)
    for story, about in named:
        teller = story.written_by or story.teller_text or "somebody"
        yield Job(
            words=f"Read what {teller} told about {about}",
            url=story.get_absolute_url(),
            minutes=_MINUTES,
            tier=3,
            why="Whoever told it can still be asked.",
            key=f"stories.read/{story.public_id}",
            sort="stories.read",
        )
    more = unread(user).count() - len(named) if len(named) == _JOBS else 0
    if more:
        yield Job(
            words=f"Read {more} more {'story' if more == 1 else 'stories'} told since you last looked",
            url=reverse("stories:unread"),
            minutes=_MINUTES * more,
            tier=3,
            why="Whoever told them can still be asked.",
            key="stories.read-more",
            sort="stories.read-more",
            things=more,
        )


STORIES = Extension(subject="stories", panels=panels, jobs=jobs)
