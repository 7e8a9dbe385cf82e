"""What cold places add to the catalogue's pages and to what is to do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.urls import reverse
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.models import Box
from archive.extend import Extension, Job, Panel
from archive.preferences.queries import preferences
from archive.things.models import Thing
from conservation.recorded import recorded_of
from conservation.rooms.cold.routes import ROUTES
from conservation.where import Where, where


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Return what is to be said of the cold for what lives there, belongs there or is out of it; else nothing."""
    from conservation.rooms.cold import assess, queries

    if user is None or not user.is_keeper:
        return
    may = assess.may_live_cold(thing)
    around = queries.around(thing.box_id, user)
    if around is None and not may.may:
        return
    out = queries.out_now(user, thing) if "out of the cold" in recorded_of(thing) else []
    context = {
        "may": may,
        "around": around,
        "thing": thing,
        "fits": around is not None and (may.frozen if around.appliance == "freezer" else may.chilled),
        "out": [assess.trip_in_words(each, timezone.now(), preferences()) for each in out],
    }
    yield Panel("The cold", "rooms/cold/_panel.html", context, order=25, first=bool(around) and may.stop)


def box_panels(box: Box, user: Account | None) -> Iterable[Panel]:
    """Return that a node is a cold place, or that what is in it is out of the cold."""
    from conservation.rooms.cold import assess, queries

    if user is None or not user.is_keeper:
        return
    here = where([box.pk]).get(box.pk, Where())
    place = queries.place_of(box) if box.pk in here.cold else None
    out = queries.out_now(user, box) if here.is_out and place is None else []
    if place is None and not out:
        return
    context = {
        "place": place,
        "words": assess.judge(place, preferences()) if place else None,
        "out": [assess.trip_in_words(each, timezone.now(), preferences()) for each in out],
    }
    yield Panel("The cold", "rooms/cold/_box_panel.html", context, order=15)


def jobs(user: Account | None) -> Iterable[Job]:
    """Return packages that warm up or wait to go back, and cold places whose thermometer is to be read."""
    from conservation.rooms.cold import assess, queries

    if user is None or not user.is_keeper:
        return
    now, kept, today = timezone.now(), preferences(), timezone.localdate()
    for trip in queries.out_now(user):
        words = assess.trip_in_words(trip, now, kept)
        what = trip.thing or trip.box
        if trip.opened_at is not None:
            say, why = f"Pack {what} anew and put it back into the cold", "It was opened. Every warm day counts."
        elif words.may_open:
            say, why = f"{what} has warmed up: it may be opened", f"Taken out {words.out}."
        else:
            say = f"Keep {what} shut until {words.opens}"
            why = "Opened while it is cold, it is wet within a minute."
        yield Job(
            words=say,
            url=reverse("rooms:cold_trip", args=[trip.public_id]),
            minutes=5,
            due=words.opens_date,
            tier=2,
            why=why,
            key=f"rooms.cold_trip/{trip.public_id}",
            sort="rooms.cold_trip",
        )
    for place in queries.cold_places(user):
        judged = assess.judge(place, kept)
        if judged.check_due is None or judged.check_due <= today:
            yield Job(
                words=f"Read the thermometer and the cards in {place.box}",
                url=reverse("rooms:cold_say", args=[place.box.public_id]),
                minutes=5,
                due=judged.check_due,
                benefit=2.0,
                why=f"Once in {assess.CHECK_DAYS} days, so that a broken one is noticed.",
                key=f"rooms.cold_check/{place.public_id}",
                sort="rooms.cold_check",
            )


def demo(household: Mapping[str, Any], keeper: Account, draw: Any) -> None:
    """Record the demo's cold places."""
    from conservation.rooms.cold.demo import add_cold

    add_cold(household, keeper)


COLD = Extension(subject="cold", panels=panels, box_panels=box_panels, jobs=jobs, routes=ROUTES, demo=demo)
