"""Reading rounds, findings, and what rooms hold, a few queries for the whole house."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.db import connection
from django.db.models import Count, Prefetch, Q
from django.http import Http404

from archive.access.models import Account
from archive.boxes.models import Box
from archive.boxes.queries import below_sql
from archive.pictures.models import Picture
from archive.search.queries import kept
from archive.things.models import Standing, Thing
from conservation.rooms.models import RoomFacts
from conservation.rooms.queries import rooms_of
from conservation.rooms.readings.queries import RoomAir, air_of_rooms
from conservation.rooms.rounds.models import Finding, FindingPicture, FindingThing, Round, RoundRoom
from conservation.rooms.traps.models import TrapCount

LATELY_DAYS = 90
_LOOK_BACK_DAYS = 800  # twice the longest interval
PER_PAGE = 24
_GONE = (Standing.PASSED_ON, Standing.LET_GO, Standing.RETURNED, Standing.LOST)

# Every node of the tree with the room it stands in, the nearest one above it; 60 is deeper than any house.
_IN_ROOM = """
WITH RECURSIVE down(room, id, depth) AS (
  SELECT id, id, 0 FROM archive_box WHERE level = 'room' AND withdrawn_at IS NULL
  UNION ALL
  SELECT down.room, box.id, depth + 1 FROM down JOIN archive_box AS box ON box.inside_id = down.id
  WHERE box.level <> 'room' AND depth < 60
)
"""
# Room by room along the index that holds all of it (CROSS JOIN keeps that order); so 50,000 things are not opened.
_KINDS = f"""{_IN_ROOM}
SELECT down.room, thing.kind_code, COUNT(*) FROM down CROSS JOIN archive_thing AS thing ON thing.box_id = down.id
WHERE thing.withdrawn_at IS NULL AND thing.standing NOT IN (%s, %s, %s, %s) GROUP BY down.room, thing.kind_code
"""  # noqa: S608 - our own tables only
_FURNITURE = f"""{_IN_ROOM}
SELECT down.room, place.furniture, COUNT(*) FROM conservation_standingplace AS place JOIN down ON down.id = place.box_id
WHERE place.furniture <> '' GROUP BY down.room, place.furniture
"""  # noqa: S608


@dataclass
class RoomRows:
    """What the database knows of one room for its rounds."""

    room: Box
    facts: RoomFacts | None
    kinds: dict[str, int] = field(default_factory=dict)
    furniture: set[str] = field(default_factory=set)
    looks: list[tuple[date, Mapping[str, str]]] = field(default_factory=list)  # the newest first
    findings: list[tuple[str, date, date | None]] = field(default_factory=list)  # check, found, closed
    caught: bool = False  # moths, beetles or larvae in a trap in the last 90 days
    air: RoomAir | None = None


def kinds_by_room() -> dict[int, dict[str, int]]:
    """Return how many things of each kind are in each room; one query after each change of the archive."""
    return kept("kinds by room", None, _kinds_by_room)


def _kinds_by_room() -> dict[int, dict[str, int]]:
    found: dict[int, dict[str, int]] = {}
    with connection.cursor() as cursor:
        cursor.execute(_KINDS, [*_GONE])
        for room, code, count in cursor.fetchall():
            found.setdefault(room, {})[code] = count
    return found


def rows_of_rooms(reader: Account | None, today: date, only: Box | None = None) -> list[RoomRows]:
    """Return all rooms (or one) with contents, furniture, looks, findings, traps and air: eight queries at most."""
    rooms = rooms_of(reader)
    if only is not None:
        rooms = rooms.filter(pk=only.pk)
    found = {room.pk: RoomRows(room, getattr(room, "room_facts", None)) for room in rooms}
    if not found:
        return []
    for pk, kinds in kinds_by_room().items():
        if pk in found:
            found[pk].kinds = kinds
    with connection.cursor() as cursor:
        cursor.execute(_FURNITURE)
        for room, code, _ in cursor.fetchall():
            if room in found:
                found[room].furniture.add(code)
    looks = RoundRoom.objects.filter(box__in=found, answered_on__gte=today - timedelta(days=_LOOK_BACK_DAYS))
    for room, day, answers in looks.order_by("-answered_on", "-pk").values_list("box_id", "answered_on", "answers"):
        if day is not None:
            found[room].looks.append((day, answers))
    lately = Q(closed_on__isnull=True) | Q(closed_on__gte=today - timedelta(days=LATELY_DAYS))
    for room, code, day, closed in Finding.objects.filter(lately, room__in=found).values_list(
        "room_id", "check_code", "found_on", "closed_on"
    ):
        found[room].findings.append((code, day, closed))
    eaters = Q(moth__gt=0) | Q(beetle__gt=0) | Q(larva__gt=0)
    counts = TrapCount.objects.filter(
        eaters, trap__room__in=found, trap__taken_on__isnull=True, counted_on__gte=today - timedelta(days=LATELY_DAYS)
    )
    for room in counts.order_by().values_list("trap__room_id", flat=True).distinct():
        found[room].caught = True
    for room, air in air_of_rooms(room_ids=found).items():
        found[room].air = air
    return list(found.values())


def signs_in_rooms(
    room_ids: Iterable[int], today: date
) -> tuple[list[tuple[int, str, str, date | None]], dict[int, tuple[int, list[TrapCount]]]]:
    """Return what was seen in rooms in the last months; two queries.

    Findings that are open or were closed lately: room, check, gravity, the day it was closed. Counts of the traps that
    lie there, by trap: its room and the counts.
    """
    since = today - timedelta(days=LATELY_DAYS)
    lately = Q(closed_on__isnull=True) | Q(closed_on__gte=since)
    rows = Finding.objects.filter(lately, room__in=room_ids)
    findings = list(rows.order_by("pk").values_list("room_id", "check_code", "gravity", "closed_on"))
    counts: dict[int, tuple[int, list[TrapCount]]] = {}
    laid = TrapCount.objects.filter(trap__room__in=room_ids, trap__taken_on__isnull=True, counted_on__gte=since)
    for each in laid.select_related("trap").order_by("counted_on", "pk"):
        counts.setdefault(each.trap_id, (each.trap.room_id, []))[1].append(each)
    return findings, counts


# -- rounds --------------------------------------------------------------------------------------------------------


def find_round(public_id: str) -> Round:
    """Return a round with its rooms, two queries.

    Raises:
        Http404: there is none.
    """
    found = (
        Round.objects.filter(public_id=public_id)
        .prefetch_related(
            Prefetch("rooms", RoundRoom.objects.select_related("box").order_by("box__title_folded", "pk"))
        )
        .first()
    )
    if found is None:
        raise Http404
    return found


def find_round_room(round_: Round, public_id: str) -> RoundRoom:
    """Return one room of a round that `find_round` gave.

    Raises:
        Http404: the room is not on this round.
    """
    for each in round_.rooms.all():
        if each.box.public_id == public_id:
            return each
    raise Http404


def rounds_under_way() -> list[Round]:
    """Return the rounds that were begun and not finished, the latest first, with their rooms."""
    rooms = Prefetch("rooms", RoundRoom.objects.select_related("box"))
    return list(Round.objects.filter(finished_at__isnull=True).prefetch_related(rooms))


def rounds_done() -> Any:
    """Return finished rounds, the latest first, with their rooms and how much was found."""
    rooms = Prefetch("rooms", RoundRoom.objects.select_related("box"))
    done = Round.objects.filter(finished_at__isnull=False).prefetch_related(rooms)
    return done.annotate(found=Count("findings", distinct=True)).order_by("-began_on", "-pk")


def told_of(round_: Round) -> set[tuple[int, str]]:
    """Return room and check of everything that was written up as a finding on a round."""
    return set(Finding.objects.filter(round=round_).values_list("room_id", "check_code"))


# -- findings ------------------------------------------------------------------------------------------------------


def _findings() -> Any:
    pictures = Prefetch("pictures", FindingPicture.objects.select_related("picture"))
    return Finding.objects.select_related("room", "box", "round").prefetch_related(pictures)


def findings_of(*, closed: bool) -> Any:
    """Return findings that are open or closed, the latest first, with their pictures."""
    return _findings().filter(closed_on__isnull=not closed).order_by("-closed_on" if closed else "-found_on", "-pk")


def findings_on(round_: Round) -> Any:
    """Return what was found on a round, with pictures."""
    return _findings().filter(round=round_).order_by("room__title_folded", "pk")


def open_in(room: Box) -> list[Finding]:
    """Return the open findings of a room."""
    return list(_findings().filter(room=room, closed_on__isnull=True))


def find_finding(public_id: str) -> Finding:
    """Return a finding with pictures and things.

    Raises:
        Http404: there is none.
    """
    things = Prefetch("things", FindingThing.objects.select_related("thing"))
    found: Finding | None = _findings().filter(public_id=public_id).prefetch_related(things).first()
    if found is None:
        raise Http404
    for each in found.pictures.all():
        each.picture.box = found.box if each.picture.box_id == found.box_id else found.room
    return found


@dataclass(frozen=True)
class AtRisk:
    """Things that a finding threatens: the first of them, how many in all, and where they are."""

    things: list[Thing]
    count: int
    place: Box


def at_risk(finding: Finding, kinds: Iterable[str], reader: Account | None, how_many: int) -> AtRisk:
    """Return things of some kinds in the same box or, where there are none, in the room; four queries at most."""
    wanted = list(kinds)
    for place in [each for each in (finding.box, finding.room) if each is not None]:
        things = _threatened(finding, place, wanted, reader)
        count = things.count()
        if count:
            break
    ordered = things.select_related("box").order_by("-significance", "serial_id")
    return AtRisk(list(ordered[:how_many]) if count else [], count, place)


def _threatened(finding: Finding, place: Box, kinds: list[str], reader: Account | None) -> Any:
    return (
        Thing.objects.visible_to(reader)
        .present()
        .filter(box__in=below_sql(place), kind_code__in=kinds)
        .exclude(pk__in=[each.thing_id for each in finding.things.all()])
        .exclude(standing__in=_GONE)
    )


def findings_about(thing: Thing) -> list[Finding]:
    """Return the open findings on a thing, or in the box it lies in."""
    about = Q(things__thing=thing)
    if thing.box_id is not None:
        about |= Q(box=thing.box_id)
    return list(Finding.objects.filter(about, closed_on__isnull=True).select_related("room", "box").distinct())


def is_below(box: Box, room: Box) -> bool:
    """Say whether a box is a room or stands in it, however deep."""
    return Box.objects.filter(pk=box.pk, pk__in=below_sql(room)).exists()


def pictures_to_show(finding: Finding) -> list[Picture]:
    """Return the pictures of a finding."""
    return [each.picture for each in finding.pictures.all()]
