"""What housing adds to the catalogue's pages."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from django.urls import reverse

from archive.access.models import Account
from archive.boxes.models import Box, Level
from archive.extend import Extension, Flag, Job, Panel
from archive.preferences.queries import preferences
from archive.sorting.models import Lot
from archive.things.models import Thing
from conservation.housing.routes import ROUTES
from conservation.recorded import recorded_of
from conservation.where import Where, where

# What somebody who borrows the thing needs to know; boxes and air are the keeper’s affair.
_WITH_A_LOAN = ("Position", "Hold it with", "Never")


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Return the hazard strip, when there is one, and the advice."""
    from conservation.housing.assess import advise
    from conservation.housing.queries import air_where, decision_on

    advice = advise(thing, preferences().units, air_where(thing))
    if advice.answer["stop"]:
        yield Panel("Hazard", "housing/hazard.html", {"advice": advice}, order=0, first=True)
    context = {
        "advice": advice,
        "thing": thing,
        "decision": decision_on(thing) if "decision" in recorded_of(thing) else None,
    }
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
    here = where([box.pk]).get(box.pk, Where())
    context = {
        "box": box,
        "whole": whole,
        "places": assess_whole.judge_place(here.furniture, here.location),
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


def flags(things: Sequence[Thing], user: Account | None) -> Mapping[int, Sequence[Flag]]:
    """Return the hazard marks of a list of things, and those of the places they stand in."""
    from conservation.housing.assess import flags_of

    return flags_of(things, where(thing.box_id for thing in things))


_DANGEROUS_AT_MOST = 20  # of each kind


def jobs(user: Account | None) -> Iterable[Job]:
    """Return dangers not dealt with, what has no kind yet, what matters and has no box, and what is decided only."""
    from conservation.housing import assess_jobs, queries

    if user is None or not user.is_keeper:
        return
    for danger in assess_jobs.dangers(queries.dangerous(user, assess_jobs.bringers(), _DANGEROUS_AT_MOST)):
        first, others = danger.things[0], len(danger.things) - 1
        more = f", and {others} more" if others else ""
        do = "Keep away from" if danger.leave else "Leave as it is, and ask about" if danger.stays else "Set apart"
        yield Job(
            words=f"{do} {first}{more}: {danger.name}",
            url=first.get_absolute_url(),
            minutes=20,
            tier=2 if danger.spreads else 1,
            benefit=danger.weight,
            why=danger.say,
            # A thing that joins makes it a job anew, however long the others were put off.
            key=f"housing.hazard/{danger.code}/{max(thing.pk for thing in danger.things)}",
            sort="housing.hazard",
            first=danger.first,
            things=len(danger.things),
        )
    for thing in queries.unknown_kinds(user, 5):
        yield Job(
            words=f"Find out what {thing} is",
            url=thing.get_absolute_url(),
            minutes=5,
            why="Its kind decides how to keep it; until then the advice is guarded.",
            key=f"housing.find-kind/{thing.public_id}",
            sort="housing.find-kind",
            matters=thing.significance,
        )
    for decision in queries.undone(user, 5):
        yield Job(
            words=f"House {decision.thing} as you decided",
            url=reverse("housing:sheet", args=[decision.thing.public_id]),
            minutes=15,
            why=f"Decided on {decision.decided_on.day} {decision.decided_on:%B %Y}, not done yet.",
            key=f"housing.house/{decision.public_id}",
            sort="housing.house",
            matters=decision.thing.significance,
            vulnerable=assess_jobs.vulnerable(decision.thing.kind_code),
            exposed=assess_jobs.exposed(decision.thing.states),
        )
    for thing in queries.undecided(user, 3):
        yield Job(
            words=f"Decide what to put {thing} in",
            url=reverse("housing:decide", args=[thing.public_id]),
            minutes=5,
            why="It matters, and nothing is decided for it yet.",
            key=f"housing.decide/{thing.public_id}",
            sort="housing.decide",
            matters=thing.significance,
            vulnerable=assess_jobs.vulnerable(thing.kind_code),
            exposed=assess_jobs.exposed(thing.states),
        )


def demo(household: Mapping[str, Any], keeper: Account, picture: Callable[[str, int, str], Any]) -> None:
    """Record what the demo's keeper decided, and where boxes stand."""
    from conservation.housing.demo import build

    build(household, keeper)


HOUSING = Extension(
    subject="housing",
    panels=panels,
    flags=flags,
    box_panels=box_panels,
    lot_panels=lot_panels,
    jobs=jobs,
    urls="conservation.housing.urls",
    routes=ROUTES,
    demo=demo,
)
