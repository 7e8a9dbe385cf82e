"""What the choice of places adds to the catalogue's pages and to what is to do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.urls import reverse

from archive.access.models import Account
from archive.boxes.models import Box, Level
from archive.extend import Extension, Job, Panel
from archive.things.models import Thing
from conservation.rooms.living.routes import ROUTES
from conservation.where import where

_PACKED = (Level.BOX, Level.FOLDER)


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Return where a thing should live."""
    if user is not None and user.is_keeper:
        yield from _panel(thing, user)


def box_panels(box: Box, user: Account | None) -> Iterable[Panel]:
    """Return where a box should live; shelves, furniture and rooms are where things live."""
    if user is not None and user.is_keeper and box.level in _PACKED:
        yield from _panel(box, user)


def _panel(record: Thing | Box, user: Account) -> Iterable[Panel]:
    """Yield the head of the section; what stands in it compares all rooms, and is fetched when it comes into view."""
    from conservation.rooms.living import queries

    start = record.box_id if isinstance(record, Thing) else record.pk
    here = where([start]).get(start or 0)
    if (here is not None and here.room is not None) or queries.any_room(user):
        context = {"record": record, "is_thing": isinstance(record, Thing)}
        yield Panel("Where should it live?", "rooms/living/_later.html", context, order=24)


def jobs(user: Account | None) -> Iterable[Job]:
    """Return the moves that were accepted and are not done."""
    from conservation.rooms.living import queries
    from conservation.rooms.living.moves_in_words import no_longer

    if user is None or not user.is_keeper:
        return
    if not queries.any_answer():
        return
    house = queries.read_house(user)
    to_do = queries.to_do(house)
    changed = no_longer(house, user, to_do)
    for decision in to_do:
        record = decision.thing or decision.box
        if record is None or decision.goal is None:
            continue
        name = "rooms:living_thing" if decision.thing else "rooms:living_box"
        matters = decision.thing.significance if decision.thing else None
        against, goal = changed.get(decision.pk, ""), decision.goal.title
        yield Job(
            words=f"Think again about moving {record} to {goal}" if against else f"Move {record} to {goal}",
            url=reverse(name, args=[record.public_id]),
            minutes=decision.minutes,
            why=against or decision.gain or decision.reason or "You decided so.",
            matters=float(matters) if matters else None,
            exposed=2.0,
            key=f"rooms.move/{decision.public_id}",
            sort="rooms.move",
        )


def demo(household: Mapping[str, Any], keeper: Account, draw: Any) -> None:
    """Record the demo's decided moves."""
    from conservation.rooms.living.demo import add_decisions

    add_decisions(household, keeper)


LIVING = Extension(subject="living", panels=panels, box_panels=box_panels, jobs=jobs, routes=ROUTES, demo=demo)
