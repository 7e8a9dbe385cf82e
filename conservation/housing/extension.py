"""What housing adds to the catalogue's pages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from django.urls import reverse

from archive.access.models import Account
from archive.boxes.models import Box, Level
from archive.extend import Extension, Flag, Job, Panel
from archive.preferences.queries import preferences
from archive.sorting.models import Lot
from archive.things.models import Thing
from conservation.housing.routes import ROUTES

# What somebody who borrows the thing needs to know; boxes and air are the keeper’s affair.
_WITH_A_LOAN = ("Position", "Hold it with", "Never")


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Return the hazard strip, when there is one, and the advice."""
    from conservation.housing.assess import advise
    from conservation.housing.queries import decision_on

    advice = advise(thing, preferences().units)
    if advice.answer["stop"]:
        yield Panel("Hazard", "housing/hazard.html", {"advice": advice}, order=0, first=True)
    context = {"advice": advice, "thing": thing, "decision": decision_on(thing)}
    brief = tuple(f"{line.label}: {line.words}" for line in advice.lines if line.label in _WITH_A_LOAN)
    yield Panel("How to keep it", "housing/advice.html", context, order=10, brief=brief)


# Of a room or a wardrobe as a whole nothing useful can be said; its boxes say it each for itself.
PACKED = (Level.SHELF, Level.BOX, Level.FOLDER)


def box_panels(box: Box, user: Account | None) -> Iterable[Panel]:
    """Return what is to be said of where a box stands and of what lies together in it."""
    from conservation.housing import assess_whole, queries

    whole = None
    if box.level in PACKED:
        inside = queries.contents_of_box(box, user)
        whole = assess_whole.advise_whole(inside.kinds, preferences().units, inside.families)
    furniture, location = queries.places_of([box.pk]).get(box.pk, ("", ""))
    context = {
        "box": box,
        "whole": whole,
        "places": assess_whole.judge_place(furniture, location),
        "packed": box.level in PACKED,
    }
    if whole is not None and whole.blocked:
        yield Panel("Hazard", "housing/box_hazard.html", context, order=0, first=True)
    yield Panel("How to keep what is in it", "housing/box.html", context, order=20)


def lot_panels(lot: Lot, user: Account | None) -> Iterable[Panel]:
    """Return what is to be said of a lot as a whole, from what is recorded in it and the rough counts of its boxes."""
    from conservation.housing import assess_whole, queries

    whole = assess_whole.advise_whole(queries.contents_of_lot(lot, user).kinds, preferences().units)
    if whole is None:
        return
    context = {"whole": whole, "places": ()}
    if whole.blocked:
        yield Panel("Hazard", "housing/box_hazard.html", context, order=0, first=True)
    yield Panel("How to keep what is in it", "housing/box.html", context, order=20)


def flags(thing_ids: Sequence[int], user: Account | None) -> Mapping[int, Sequence[Flag]]:
    """Return the hazard marks of a list of things, and those of the places they stand in, by two queries."""
    from conservation.housing.assess import flags_of
    from conservation.housing.queries import places_of, rows_for_flags

    if not thing_ids:
        return {}
    rows = rows_for_flags(thing_ids)
    return flags_of(rows, places_of(row[-1] for row in rows))


def jobs(user: Account | None) -> Iterable[Job]:
    """Return things that have no kind yet, without which there is no advice, and what is decided but not done."""
    from conservation.housing import queries

    if user is None or not user.is_keeper:
        return
    for thing in queries.unknown_kinds(user, 5):
        yield Job(
            words=f"Find out what {thing} is",
            url=thing.get_absolute_url(),
            minutes=5,
            why="Its kind decides how to keep it; until then the advice is guarded.",
        )
    for decision in queries.undone(user, 5):
        yield Job(
            words=f"House {decision.thing} as you decided",
            url=reverse("housing:sheet", args=[decision.thing.public_id]),
            minutes=15,
            benefit=float(decision.thing.significance or 3),
            why=f"Decided on {decision.decided_on.day} {decision.decided_on:%B %Y}, not done yet.",
        )


HOUSING = Extension(
    subject="housing",
    panels=panels,
    flags=flags,
    box_panels=box_panels,
    lot_panels=lot_panels,
    jobs=jobs,
    urls="conservation.housing.urls",
    routes=ROUTES,
)
