"""What housing adds to the catalogue's pages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from archive.access.models import Account
from archive.extend import Extension, Flag, Job, Panel
from archive.preferences.queries import preferences
from archive.things.models import Thing


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Return the hazard strip, when there is one, and the advice."""
    from conservation.housing.assess import advise

    advice = advise(thing, preferences().units)
    if advice.answer["stop"]:
        yield Panel("Hazard", "housing/hazard.html", {"advice": advice}, order=0, first=True)
    yield Panel("How to keep it", "housing/advice.html", {"advice": advice, "thing": thing}, order=10)


def flags(thing_ids: Sequence[int], user: Account | None) -> Mapping[int, Sequence[Flag]]:
    """Return the hazard marks of a list of things, by one query."""
    from conservation.housing.assess import flags_of
    from conservation.housing.queries import rows_for_flags

    return flags_of(rows_for_flags(thing_ids)) if thing_ids else {}


def jobs(user: Account | None) -> Iterable[Job]:
    """Return things that have no kind yet: without one there is no advice."""
    from conservation.housing.queries import unknown_kinds

    if user is None or not user.is_keeper:
        return
    for thing in unknown_kinds(user, 5):
        yield Job(
            words=f"Find out what {thing} is",
            url=thing.get_absolute_url(),
            minutes=5,
            why="Its kind decides how to keep it; until then the advice is guarded.",
        )


HOUSING = Extension(subject="housing", panels=panels, flags=flags, jobs=jobs)
