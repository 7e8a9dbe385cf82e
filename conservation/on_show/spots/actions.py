"""Writing spots and readings; putting things up and taking them down."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.boxes.models import Box
from archive.things.models import Thing
from conservation.on_show.models import LuxReading, Showing, Spot
from conservation.on_show.spots import assess, queries


class CannotHang(ValueError):
    """A thing cannot go up at a spot; the message is a sentence for the page."""


def save_spot(who: Account, spot: Spot | None, values: dict[str, Any]) -> Spot:
    """Record a new spot, or change one."""
    with changing(who, "spots.add" if spot is None else "spots.edit"):
        if spot is None:
            spot = Spot(**values)
        else:
            for name, value in values.items():
                setattr(spot, name, value)
            touch(spot)
        spot.save()
    return spot


def add_reading(who: Account, spot: Spot, values: dict[str, Any]) -> LuxReading:
    """Record how bright it was at a spot once."""
    with changing(who, "spots.read"):
        reading = LuxReading(spot=spot, **values)
        reading.save()
    return reading


def remove_reading(who: Account, reading: LuxReading) -> None:
    """Take back a reading that was wrong; its history stays."""
    with changing(who, "spots.unread"):
        reading.delete()


def why_not(thing: Thing, spot: Spot, *, is_copy: bool = False) -> str:
    """Return in a sentence why a thing cannot go up at a spot, its light apart; nothing where it can."""
    if not is_copy and (gone := queries.not_here([thing]).get(thing.pk)):
        return gone
    if thing.withdrawn_at is not None or spot.withdrawn_at is not None:
        return "It is withdrawn."
    if not spot.in_use:
        return f"“{spot}” is no longer used."
    if (bar := queries.bar_of(thing, spot)) is not None:
        return f"It is barred from “{spot}”{f': {bar.why}' if bar.why else ''}."
    limits = assess.limits_of_thing(thing)
    if not is_copy:
        if limits.copy == "required":
            return f"{limits.why_not} Hang a copy, and keep the original in the dark."
        if trouble := assess.size_trouble(limits, spot):
            return trouble
    if queries.how_many_at(spot) >= spot.capacity:
        return f"“{spot}” is full: it holds {spot.capacity}. Take something down first."
    return ""


def hang(
    who: Account,
    thing: Thing,
    spot: Spot,
    *,
    day: date | None = None,
    is_copy: bool = False,
    goes_back_to: Box | None = None,
    note: str = "",
    as_it_happened: bool = False,
) -> Showing:
    """Record that a thing went up at a spot, with the light believed now.

    ``as_it_happened`` records what has been done already, though it was against a bar, a size or the room there is.

    Raises:
        CannotHang: it is on show already, or it may not go up there.
    """
    with changing(who, "spots.hang"):
        there = queries.open_showing(thing)
        if there is not None:
            raise CannotHang(f"It is on show already, at “{there.spot}” since {_day(there.went_up)}.")
        if not as_it_happened and (trouble := why_not(thing, spot, is_copy=is_copy)):
            raise CannotHang(trouble)
        day = day or timezone.localdate()
        light = assess.light_of_spot(spot)
        limits = assess.limits_of_thing(thing, uv_filtered=light.uv_filtered)
        showing = Showing(
            thing=thing, spot=spot, went_up=day, is_copy=is_copy, note=note,
            goes_back_to=goes_back_to if goes_back_to is not None else thing.box,
            lux=light.lux_on(day, limits.responsivity), hours_per_day=light.hours_per_day,
            uv_filtered=light.uv_filtered,
        )  # fmt: skip
        showing.save()
    return showing


def take_down(
    who: Account, showing: Showing, *, day: date | None = None, goes_back_to: Box | None = None, note: str | None = None
) -> Showing:
    """Record that a thing came down, and set its light down for good: what the spot's light is believed to have been.

    Raises:
        CannotHang: it has come down already, or the day lies before it went up.
    """
    with changing(who, "spots.take_down"):
        showing.refresh_from_db()
        day = day or timezone.localdate()
        if showing.came_down is not None:
            raise CannotHang(f"It came down already, on {_day(showing.came_down)}.")
        if day < showing.went_up:
            raise CannotHang(f"It went up on {_day(showing.went_up)}; it cannot have come down before.")
        light = assess.light_of_spot(showing.spot)
        limits = assess.limits_of_thing(showing.thing, uv_filtered=light.uv_filtered)
        days = queries.days_between(showing.went_up, day)
        lxh = light.lxh_between(showing.went_up, day, limits.responsivity)
        showing.came_down = day
        showing.lxh = 0.0 if showing.is_copy else lxh
        showing.hours_per_day = light.hours_per_day
        showing.lux = lxh / days / light.hours_per_day if light.hours_per_day else 0.0
        showing.uv_filtered = light.uv_filtered
        if goes_back_to is not None:
            showing.goes_back_to = goes_back_to
        if note is not None:
            showing.note = note
        touch(showing)
        showing.save()
    return showing


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
