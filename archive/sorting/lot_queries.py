"""Reading lots: what arrived together, in its first order."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import Http404

from archive.access.models import Account
from archive.boxes.models import Box
from archive.numbers import read_typed
from archive.people.models import Person
from archive.pictures.models import Picture, View
from archive.places.models import Place
from archive.sorting.models import Lot
from archive.sorting.queries import PER_PAGE, first_pictures
from archive.things.models import Thing

_LAST = 1_000_000_000


@dataclass(frozen=True)
class Member:
    """A thing or a box of a lot, at its place in the first order (counted among what the reader may see)."""

    place: int
    record: Any
    is_box: bool
    picture: Picture | None = None

    @property
    def code(self) -> str:
        """Return the name of the member's row in forms."""
        return f"{'box' if self.is_box else 'thing'}-{self.record.public_id}"


@dataclass(frozen=True)
class Origin:
    """Whose a lot was and where it came from, as far as the reader may know."""

    person: Person | None
    place: Place | None


@dataclass(frozen=True)
class Typed:
    """Typed numbers: the records they mean, and a sentence for each that means none."""

    found: list[Any]
    troubles: list[str]


def find_lot(public_id: str, reader: Account | None) -> Lot:
    """Return a lot that this reader may see.

    Raises:
        Http404: there is none, or none for this reader.
    """
    lot: Lot | None = Lot.objects.visible_to(reader).filter(public_id=public_id).first()
    if lot is None:
        raise Http404
    return lot


def list_page(reader: Account | None, number: str) -> Page[Any]:
    """Return one page of lots, the newest first."""
    lots = Lot.objects.visible_to(reader).present().order_by("-created_at", "-pk")
    return Paginator(lots, PER_PAGE).get_page(number)


def first_picture_of(lots: Sequence[Lot]) -> dict[int, Picture]:
    """Return the first picture of each lot, in one query."""
    found: dict[int, Picture] = {}
    for picture in Picture.objects.filter(lot__in=lots).order_by("position", "pk"):
        found.setdefault(picture.lot_id or 0, picture)
    return found


def origin(lot: Lot, reader: Account | None) -> Origin:
    """Return the person and the place of a lot that the reader may see; others are as if they were not recorded."""
    person = Person.objects.visible_to(reader).filter(pk=lot.from_whom_id).first() if lot.from_whom_id else None
    places = Place.objects.visible_to(reader).select_related("within")
    place = places.filter(pk=lot.from_where_id).first() if lot.from_where_id else None
    return Origin(person, place)


def _order(lot: Lot, reader: Account | None) -> list[tuple[int, int, bool, int]]:
    """Return place, serial, whether it is a box, and key of all that the reader sees of a lot, in its first order."""
    found = []
    rows: tuple[tuple[QuerySet[Any], bool], ...] = (
        (Thing.objects.visible_to(reader).filter(lot=lot), False),
        (Box.objects.visible_to(reader).filter(lot=lot), True),
    )
    for records, is_box in rows:
        # What turned out to be one with another stands there once, as the one that was kept.
        for pk, serial, place in (
            records.filter(united_with="").order_by().values_list("pk", "serial_id", "lot_position")
        ):
            found.append((place if place is not None else _LAST, serial, is_box, pk))
    return sorted(found)


def _members(order: Sequence[tuple[int, int, bool, int]], start: int, *, pictures: bool) -> list[Member]:
    things: Any = Thing.objects.filter(pk__in=[pk for *_, is_box, pk in order if not is_box])
    boxes: Any = Box.objects.filter(pk__in=[pk for *_, is_box, pk in order if is_box])
    if pictures:
        things, boxes = things.prefetch_related(first_pictures()), boxes.prefetch_related(first_pictures())
    records = {(False, each.pk): each for each in things} | {(True, each.pk): each for each in boxes}
    members = []
    for place, (_, _, is_box, pk) in enumerate(order, start):
        record = records[is_box, pk]
        picture = next(iter(record.pictures.all()), None) if pictures else None
        members.append(Member(place, record, is_box, picture))
    return members


def members_page(lot: Lot, reader: Account | None, number: str) -> tuple[Page[Any], list[Member]]:
    """Return one page of what is in a lot, in its first order, in a constant number of queries."""
    page = Paginator(_order(lot, reader), PER_PAGE).get_page(number)
    return page, _members(list(page.object_list), page.start_index(), pictures=True)


def all_members(lot: Lot, reader: Account | None) -> list[Member]:
    """Return all that is in a lot, in its first order, those that have left since included."""
    return _members(_order(lot, reader), 1, pictures=False)


def pictures_of(lot: Lot) -> tuple[list[Picture], list[Picture]]:
    """Return a lot's pictures in their order: as it was found, and its wrappers."""
    rows = list(lot.pictures.order_by("position", "pk"))
    return [row for row in rows if row.view != View.WRAPPER], [row for row in rows if row.view == View.WRAPPER]


def state_of(lot: Lot) -> str:
    """Return a short sum over all that acceptance would fix: it changes when anybody changes any of it."""
    told: list[Any] = [lot.version]
    models: tuple[Any, ...] = (Thing, Box, Picture)
    for model in models:
        told.append(list(model.objects.filter(lot=lot).order_by("pk").values_list("pk", "version")))
    return hashlib.sha256(repr(told).encode()).hexdigest()[:24]


def read_numbers(text: str, reader: Account | None, *, boxes: bool = True) -> Typed:
    """Return the things (and boxes) that typed numbers mean, in the order in which they were typed.

    Numbers stand apart by commas, semicolons or new lines, or by spaces where each part is a number of its own.
    """
    serials: dict[int, str] = {}
    troubles: list[str] = []
    for typed in _parts(text):
        read = read_typed(typed)
        if read.serial is not None:
            serials.setdefault(read.serial, typed)
        elif read.near:
            near = ", ".join(read.near)
            troubles.append(f"{typed} is not one of our numbers: its last sign does not fit. Near it are: {near}.")
        else:
            troubles.append(f"{typed[:40]} is not one of our numbers. They look like 0214-6.")
    records: dict[int, Any] = {}
    models: Iterable[Any] = (Thing, Box) if boxes else (Thing,)
    for model in models:
        for record in model.objects.visible_to(reader).present().filter(serial__in=serials):
            records[record.serial_id] = record
    what = "thing or box" if boxes else "thing"
    troubles += [f"There is no {what} with the number {typed}." for s, typed in serials.items() if s not in records]
    return Typed([records[serial] for serial in serials if serial in records], troubles)


def _parts(text: str) -> list[str]:
    parts: list[str] = []
    for part in text.replace(";", ",").replace("\n", ",").split(","):
        part = part.strip()
        words = part.split()
        if part and read_typed(part).serial is None and len(words) > 1:
            parts.extend(words)
        elif part:
            parts.append(part)
    return parts


def kept_apart(reader: Account | None) -> list[Lot]:
    """Return the lots that are kept apart, the first day of looking again first."""
    lots = Lot.objects.visible_to(reader).present().filter(quarantine_until__isnull=False)
    return list(lots.order_by("quarantine_until", "pk"))


def due_again(reader: Account | None, today: date) -> list[Lot]:
    """Return the lots that are to be looked at again on a day, or were to be before it."""
    return [lot for lot in kept_apart(reader) if lot.quarantine_until is not None and lot.quarantine_until <= today]
