"""What showing things adds to the catalogue's pages."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import timedelta
from typing import Any

from django.urls import reverse
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.models import Box, Level
from archive.extend import Extension, Flag, Job, Panel
from archive.things.models import Thing
from conservation.on_show.models import ShowPolicy
from conservation.on_show.routes import ROUTES
from conservation.recorded import ON_SHOW as SHOWN
from conservation.recorded import marks_of, recorded_of

SOON = timedelta(days=14)


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Return the light of a thing: where it hangs, its class, and how much of its year is used."""
    from conservation.on_show.light import assess, queries
    from conservation.on_show.spots.assess import limits_of_thing, words_of
    from conservation.on_show.spots.queries import lxh_in, own_light, policy

    today, there = timezone.localdate(), recorded_of(thing)
    own = own_light([thing.pk]).get(thing.pk) if "own light" in there else None
    kept = policy() if "policy of showing" in there else ShowPolicy()
    limits = limits_of_thing(thing, own, kept, asked=True)
    showings = queries.showings_of(thing) if "showing" in there else []
    uses = queries.uses_of(thing) if "light use" in there else []
    used = lxh_in(showings, uses, *assess.a_year(today))
    hanging = queries.hanging(showings)
    context = {
        "thing": thing,
        "limits": limits,
        "class_words": words_of("responsivity", limits.responsivity),
        "gauge": assess.gauge_of(limits, used),
        "now": assess.watch(hanging, today, kept, {thing.pk: used}) if hanging else [],
        "seen": queries.seen_spots(user) if hanging else set(),
    }
    yield Panel("Light", "on_show/panel.html", context, order=30)


def box_panels(box: Box, user: Account | None) -> Iterable[Panel]:
    """Return the places of a room where things are shown, and what is there now."""
    from conservation.on_show.spots.queries import spot_rows

    if box.level != Level.ROOM:
        return
    if rows := spot_rows(user, box):
        yield Panel("On show in this room", "on_show/room_panel.html", {"rows": rows}, order=40)


def flags(things: Sequence[Thing], user: Account | None) -> Mapping[int, Sequence[Flag]]:
    """Return the marks of a list of things: on show, too bright, over its year's light; a handful of queries."""
    from conservation.on_show.light import assess, queries

    on_show = [pk for pk, codes in marks_of(things).items() if SHOWN in codes]
    showings = queries.now_on_show(user, on_show) if on_show else []
    found: dict[int, list[Flag]] = {}
    for each in assess.watch(showings, timezone.localdate()) if showings else ():
        marks = found.setdefault(each.showing.thing_id, [])
        marks.append(Flag("note", "A copy is on show" if each.showing.is_copy else "On show"))
        if each.over:
            marks.append(Flag("stop", "Over its year’s light"))
        elif each.too_bright:
            marks.append(Flag("care", "Too bright where it hangs"))
    return found


def jobs(user: Account | None) -> Iterable[Job]:
    """Return what is to come down soon or at once, and places that nobody has read yet."""
    from conservation.on_show.light import assess, queries

    if user is None or not user.is_keeper:
        return
    today = timezone.localdate()
    hanging = queries.now_on_show(user)
    for each in assess.watch(hanging, today) if hanging else ():
        if each.down_by is None or each.down_by > today + SOON:
            continue
        thing = each.showing.thing
        yield Job(
            words=f"Take {thing} down from {each.showing.spot}",
            url=reverse("on_show:take_down", args=[each.showing.public_id]),
            minutes=15,
            due=each.down_by,
            tier=2,
            benefit=float(thing.significance or 3),
            why=each.why,
            key=f"on_show.down/{each.showing.public_id}",
            sort="on_show.down",
        )
    for spot in queries.spots_without_reading(user, 3):
        yield Job(
            words=f"Take a light reading at {spot}",
            url=reverse("on_show:read_spot", args=[spot.public_id]),
            minutes=5,
            why="Until there is a reading its light is estimated, and may be three times more or less.",
            key=f"on_show.read/{spot.public_id}",
            sort="on_show.read",
        )


def demo(household: Mapping[str, Any], keeper: Account, draw: Callable[[str, int, str], Any]) -> None:
    """Record what the demo household shows."""
    from conservation.on_show.demo import build

    build(household, keeper, draw)


ON_SHOW = Extension(
    subject="on_show",
    panels=panels,
    flags=flags,
    box_panels=box_panels,
    jobs=jobs,
    urls="conservation.on_show.urls",
    routes=ROUTES,
    menu=("On show", "on_show:page"),
    demo=demo,
)
