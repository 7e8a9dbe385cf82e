"""What readings add to the catalogue: marks on things in air that does them harm, jobs, due work, the demo's rooms."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from django.urls import reverse

from archive.access.models import Account
from archive.boxes.models import Box, Level
from archive.extend import Extension, Flag, Job, Panel
from archive.preferences.queries import preferences
from archive.things.models import Thing
from conservation.rooms.readings.models import Placement
from conservation.rooms.readings.routes import ROUTES

# Our defaults: a dial is read once a week, a logger emptied once a month; of rooms nobody measures a few are said.
READ_EVERY_DAYS, EMPTY_EVERY_DAYS = 7, 31
_UNMEASURED_AT_ONCE = 3
_READ_MINUTES, _EMPTY_MINUTES, _PLACE_MINUTES = 2, 15, 10


def box_panels(box: Box, user: Account | None) -> Iterable[Panel]:
    """Return the way from a node of the storage tree to the air of its room, for the keeper."""
    from conservation.rooms.readings import queries, where_queries
    from conservation.rooms.readings.import_words import air_in_words

    if user is None or not user.is_keeper or box.level == Level.HOME:
        return
    room = box if box.level == Level.ROOM else where_queries.room_of(box, user)
    if room is not None:
        air = queries.air_where([box.pk]).get(box.pk)
        context = {"room": room, "words": "" if air is None else air_in_words(air, preferences())}
        yield Panel("The air here", "rooms/_box_panel.html", context, order=30)


def flags(things: Sequence[Thing], user: Account | None) -> Mapping[int, Sequence[Flag]]:
    """Return marks on things whose air is measured and does them harm; three queries for a whole list."""
    from conservation.rooms.readings import assess_flags, queries

    airs = queries.air_where(thing.box_id for thing in things)
    if not airs:
        return {}
    return {
        thing.pk: [Flag("care", words)]
        for thing in things
        if (air := airs.get(thing.box_id or 0))
        and (words := assess_flags.why_unhappy(air, [thing.kind_code, *thing.parts], thing.states))
    }


def jobs(user: Account | None) -> Iterable[Job]:
    """Return dials to be read, loggers to be emptied, and rooms with things in them that nobody measures."""
    from conservation.rooms.readings import contents_queries

    if user is None or not user.is_keeper:
        return
    for sensor, days in contents_queries.due_sensors(user, READ_EVERY_DAYS, EMPTY_EVERY_DAYS):
        by_hand = sensor.by_hand
        where = sensor.room.title
        logger = sensor.name if sensor.placement == Placement.OUTDOORS else f"{sensor.name} in {where}"
        yield Job(
            words=f"Read temperature and humidity in {where}" if by_hand else f"Fetch the readings of {logger}",
            url=f"{reverse('rooms:type_reading')}?room={sensor.room.public_id}"
            if by_hand
            else f"{reverse('rooms:import')}?for={sensor.public_id}",
            minutes=_READ_MINUTES if by_hand else _EMPTY_MINUTES,
            why=f"The last reading is {days} days old. {'Once a week' if by_hand else 'Once a month'} is our rule.",
            key=f"readings.due/{sensor.public_id}",
            sort="readings.type" if by_hand else "readings.import",
            benefit=2.0,
        )
    for room in contents_queries.unmeasured_rooms(user, _UNMEASURED_AT_ONCE):
        yield Job(
            words=f"Measure the air in {room.title}",
            url=reverse("rooms:room", args=[room.public_id]),
            minutes=_PLACE_MINUTES,
            why="Things lie there, and nobody knows what the air does to them.",
            key=f"readings.unmeasured/{room.public_id}",
            sort="readings.measure",
            benefit=2.0,
        )


def upkeep() -> Iterable[tuple[str, Callable[[], None]]]:
    """Return the work of bringing summaries up to date: readings came, the home's zone or the sums changed."""
    from conservation.rooms.readings.actions import sum_up_stale

    if preferences().zone:
        yield "what readings mean", sum_up_stale


def demo(household: Mapping[str, Any], keeper: Account, draw: Callable[[str, int, str], Any]) -> None:
    """Lay in the demo's rooms and readings."""
    from conservation.rooms.readings.demo import add_rooms

    add_rooms(household, keeper, draw)


READINGS = Extension(
    subject="rooms.readings", box_panels=box_panels, flags=flags, jobs=jobs, upkeep=upkeep, routes=ROUTES, demo=demo
)
