"""What pictures add to other pages: the question about look-alikes, and the camera's date as a suggestion."""

from __future__ import annotations

from collections.abc import Iterable

from django.urls import reverse

from archive.access.models import Account
from archive.extend import Extension, Job, Panel
from archive.pictures.queries import first_with_date, likenesses_on, open_pairs
from archive.things.models import Thing

_MINUTES = 1  # to look at two pictures side by side; our default


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Ask the keeper what only the keeper can say about a thing's pictures."""
    if user is None or not user.is_keeper:
        return
    pairs = likenesses_on(thing)
    dated = None if thing.made_text else first_with_date(thing)
    if pairs or dated:
        yield Panel("About its pictures", "pictures/panel.html", {"pairs": pairs, "dated": dated}, order=10)


def jobs(user: Account | None) -> Iterable[Job]:
    """Offer the pairs that wait for the keeper's word."""
    if user is None or not user.is_keeper:
        return
    if pairs := open_pairs():
        words = "Two pictures look alike" if pairs == 1 else f"{pairs} pairs of pictures look alike"
        yield Job(
            words=f"{words}: the same?",
            url=reverse("pictures:twins"),
            minutes=max(_MINUTES, min(pairs * _MINUTES, 60)),
            why="The same picture may have come in twice.",
            key="pictures.alike",
            sort="pictures.alike",
            things=pairs,
        )


PICTURES = Extension(subject="pictures", panels=panels, jobs=jobs)
