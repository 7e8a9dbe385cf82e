"""The page of a room: led by who is unhappy in it, then its air over time; and the numbers behind."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from archive.access.permissions import reader
from archive.preferences.queries import preferences
from archive.preferences.units import lengths
from conservation.housing.queries import contents_of_box
from conservation.rooms import assess as about
from conservation.rooms.forms import SIDES
from conservation.rooms.queries import facts_of, find_room, rooms_of
from conservation.rooms.readings import (
    assess_house,
    assess_numbers,
    assess_room,
    contents_queries,
    periods,
    queries,
)
from conservation.rooms.readings.chart import Wanted
from conservation.rooms.readings.clock import day_number, moment_of, zone_named


@require_safe
def rooms(request: HttpRequest) -> HttpResponse:
    """All rooms: who is unhappy in each, and how they compare."""
    who = reader(request.user)
    kept = preferences()
    found = list(rooms_of(who))
    by_pk = {each.pk: each for each in found}
    airs = queries.air_of_rooms(room_ids=by_pk)
    kinds = contents_queries.kinds_in_rooms(who)
    rows = [
        assess_house.room_line(
            each, airs.get(each.pk), kinds.get(each.pk, {}), about.facts_in_words(facts_of(each)), kept
        )
        for each in found
    ]
    rows.sort(key=lambda row: row.order)
    context = {"rows": rows, "between": assess_house.between_rooms(airs, by_pk)}
    return render(request, "rooms/list.html", context)


def _day(text: str, otherwise: date) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return otherwise


@require_safe
def room(request: HttpRequest, public_id: str) -> HttpResponse:
    """One room: who is unhappy here and what would help, its air, its sensors, and what it is like."""
    who = reader(request.user)
    kept = preferences()
    found = find_room(public_id, who)
    rooms = {each.pk: each for each in rooms_of(who)}
    airs = queries.air_of_rooms(room_ids=rooms)
    sensors = list(queries.sensors_in_room(found))
    kinds = contents_of_box(found, who).kinds
    air = queries.chosen_air(request.GET.get("sensor", ""), sensors) or airs.get(found.pk)
    facts = facts_of(found)
    context: dict[str, Any] = {
        "room": found,
        "facts": facts,
        "lines": about.facts_in_words(facts),
        "size": lengths([getattr(facts, name) for name in SIDES] if facts else [], inch=kept.units == "inch"),
        "sensors": sensors,
        "air": air,
        "kinds": sum(kinds.values()),
    }
    if air is not None:
        context |= _of_the_air(request, air, kinds)
        context["comparisons"] = assess_house.comparisons(found, airs, rooms)
        context["better_room"] = assess_house.better_room(found, airs, rooms, kinds)
    return render(request, "rooms/room.html", context)


def _of_the_air(request: HttpRequest, air: queries.RoomAir, kinds: Any) -> dict[str, Any]:
    kept = preferences()
    zone = zone_named(kept.zone)
    number, mould = assess_room.mould_words(air, kinds)
    whole = air.answer["all"]
    first, last = (moment_of(whole[name], zone).date() for name in ("first_s", "last_s"))
    period = periods.period_of(request.GET.get("period", "year"), _day(request.GET.get("at", ""), last), first, last)
    likes = assess_room.bands(kinds)
    wanted = Wanted(likes.temperature, likes.humidity, likes.temperature_max, likes.humidity_max)
    year = queries.days_between(air.sensor_id, day_number(air.first_day), day_number(air.last_day))
    return {
        "verdict": assess_room.judged(air, kinds, kept),
        "mould": mould,
        "damp": assess_room.damp_words(air, kept),
        "shown": periods.shown(air.sensor_id, period, kept, number, wanted),
        "periods": periods.PERIODS,
        "seasons": periods.seasons(year, kept),
        "likes": likes,
        "reference": "68 °F" if kept.units == "inch" else "20 °C",
    }


@require_safe
def numbers(request: HttpRequest, public_id: str) -> HttpResponse:
    """The numbers of the models behind a room's page, each with plain words, source and status."""
    who = reader(request.user)
    kept = preferences()
    found = find_room(public_id, who)
    sensors = list(queries.sensors_in_room(found))
    air = queries.chosen_air(request.GET.get("sensor", ""), sensors) or queries.air_of(found)
    context: dict[str, Any] = {"room": found, "air": air}
    if air is not None:
        kinds = contents_of_box(found, who).kinds
        days = queries.days_between(air.sensor_id, day_number(air.first_day), day_number(air.last_day))
        outdoors = queries.outdoor_days(day_number(air.first_day), day_number(air.last_day))
        context["sections"] = assess_numbers.sections(air, kinds, days, kept, outdoors)
        context["missing"] = assess_room.what_is_missing(air)
    return render(request, "rooms/numbers.html", context)
