"""Reading what may be labelled, and what was."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.boxes.models import Box
from archive.labels.models import PrintedSheet
from archive.numbers import number_of, read_typed
from archive.sorting.models import Lot
from archive.things.models import Thing

MOST = 2_000  # labels of one sheet; more go in several goes


@dataclass(frozen=True)
class Labelled:
    """Something with a number that a label can be made for."""

    serial: int
    title: str
    word: str  # thing, room, shelf, box, lot …
    private: bool  # its title is for the keeper alone and stays off the label
    printed: datetime | None

    @property
    def number(self) -> str:
        return number_of(self.serial)


@dataclass(frozen=True)
class Typed:
    """Typed numbers: those that mean something here, and those that do not, each with a sentence."""

    serials: list[int]
    troubles: list[str]


def typed_numbers(text: str, reader: Account | None) -> Typed:
    """Read numbers typed or pasted in any layout; a range ``0214-6 to 0230-6`` means all that were given out in it.

    A range is two numbers with ``to`` between them on one line.
    """
    serials: list[int] = []
    troubles: list[str] = []
    there = _there({read.serial for word in _words(text) if (read := read_typed(word)).serial is not None}, reader)
    for line in text.splitlines():
        ends = re.split(r"\s+to\s+", line.strip(), maxsplit=1)
        if len(ends) == 2:
            first, last = (read_typed(end).serial for end in ends)
            if first is None or last is None or first > last:
                troubles.append(
                    f"“{line.strip()[:60]}” is not a range. Write the lower number first: 0214-6 to 0230-6."
                )
            else:
                serials += _given_out(first, last, reader)
            continue
        for word in _words(line):
            read = read_typed(word)
            if read.serial is None:
                near = f" Near it are {', '.join(read.near[:3])}." if read.near else ""
                troubles.append(f"“{word[:20]}” is not one of our numbers.{near}")
            elif read.serial not in there:
                troubles.append(f"Nothing has the number {number_of(read.serial)}.")
            else:
                serials.append(read.serial)
    return Typed(list(dict.fromkeys(serials)), troubles)


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[\s,;]+", text) if word]


def _there(serials: set[int], reader: Account | None) -> set[int]:
    """Return those of some serials that something of the reader's has, however many in three queries."""
    found: set[int] = set()
    for model in (Thing, Box, Lot):
        records: Any = model.objects.visible_to(reader).present().filter(serial_id__in=serials)
        found.update(records.values_list("serial_id", flat=True))
    return found


def _given_out(first: int, last: int, reader: Account | None) -> list[int]:
    found: list[int] = []
    for model in (Thing, Box, Lot):
        records: Any = model.objects.visible_to(reader).present().filter(serial_id__gte=first, serial_id__lte=last)
        found += records.values_list("serial_id", flat=True)[: MOST + 1]
    return sorted(found)


def in_box(public_id: str, reader: Account | None) -> list[int]:
    """Return the serials of a place in the storage tree, of all places below it, and of the things in them."""
    from archive.boxes.queries import below

    box = Box.objects.visible_to(reader).filter(public_id=public_id).first()
    if box is None:
        return []
    places = below(box)
    boxes = Box.objects.visible_to(reader).present().filter(pk__in=places).order_by("serial_id")
    things = Thing.objects.visible_to(reader).present().filter(box__in=places).order_by("serial_id")
    return [*boxes.values_list("serial_id", flat=True), *things.values_list("serial_id", flat=True)]


def in_lot(public_id: str, reader: Account | None) -> list[int]:
    """Return the serials of a lot, its boxes and its things, in their first order."""
    lot = Lot.objects.visible_to(reader).filter(public_id=public_id).first()
    if lot is None:
        return []
    boxes = Box.objects.visible_to(reader).present().filter(lot=lot).order_by("lot_position", "pk")
    things = Thing.objects.visible_to(reader).present().filter(lot=lot).order_by("lot_position", "pk")
    return [
        lot.serial_id, *boxes.values_list("serial_id", flat=True), *things.values_list("serial_id", flat=True)
    ]  # fmt: skip


def serials_of_things(public_ids: Sequence[str], reader: Account | None) -> list[int]:
    """Return the serials of things, in the order in which they are named."""
    rows = Thing.objects.visible_to(reader).filter(public_id__in=list(public_ids)[:MOST])
    found = dict(rows.values_list("public_id", "serial_id"))
    return [found[each] for each in public_ids if each in found]


def labelled(serials: Sequence[int], reader: Account | None) -> list[Labelled]:
    """Return what carries these serials and may be seen, in their order; a bounded number of queries."""
    wanted = list(dict.fromkeys(serials))[:MOST]
    printed = _printed(wanted)
    today = timezone.localdate()
    found: dict[int, Labelled] = {}
    for thing in Thing.objects.visible_to(reader).filter(serial_id__in=wanted).only(*_COLUMNS, "closed_until"):
        closed = thing.closed_until is not None and thing.closed_until > today
        found[thing.serial_id] = _row(thing, "thing", printed, closed)
    for box in Box.objects.visible_to(reader).filter(serial_id__in=wanted).only(*_COLUMNS, "level"):
        found[box.serial_id] = _row(box, box.get_level_display().partition(",")[0], printed)
    for lot in Lot.objects.visible_to(reader).filter(serial_id__in=wanted).only(*_COLUMNS):
        found[lot.serial_id] = _row(lot, "lot", printed)
    return [found[serial] for serial in wanted if serial in found]


_COLUMNS = ("serial_id", "title", "access", "withdrawn_at")


def _row(record: Any, word: str, printed: dict[int, datetime], closed: bool = False) -> Labelled:
    private = closed or record.access == ReadAccess.KEEPER or record.withdrawn_at is not None
    return Labelled(record.serial_id, record.title, word, private, printed.get(record.serial_id))


def _printed(serials: Iterable[int]) -> dict[int, datetime]:
    """Return when a label was last made for each serial."""
    rows = PrintedSheet.labels.through.objects.filter(issuednumber_id__in=list(serials))
    return dict(rows.order_by("printedsheet__at").values_list("issuednumber_id", "printedsheet__at"))


def latest(reader: Account | None, how_many: int) -> list[int]:
    """Return the serials of the things and boxes recorded last, the newest first."""
    rows: list[tuple[datetime, int]] = []
    for model in (Thing, Box):
        records: Any = model.objects.visible_to(reader).present().order_by("-created_at", "-pk")
        rows += records.values_list("created_at", "serial_id")[:how_many]
    return [serial for _, serial in sorted(rows, reverse=True)[:how_many]]


def sheets(how_many: int = 100) -> list[PrintedSheet]:
    """Return the sheets made last, the newest first, each with its numbers at hand."""
    return list(PrintedSheet.objects.select_related("who").prefetch_related("labels").order_by("-at")[:how_many])
