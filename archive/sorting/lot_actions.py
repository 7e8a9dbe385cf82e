"""Writing lots: what arrived together, its first order, its acceptance, and keeping it apart for a while."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django.db.models import Max
from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.access.undo import Clash
from archive.boxes.models import Box
from archive.people.actions import person_for
from archive.pictures.actions import TakenIn, attach
from archive.places.actions import place_for
from archive.preferences.queries import preferences, read_into
from archive.sorting.models import Lot
from archive.sorting.rules import LotIsAccepted
from archive.things.actions import issue_number
from archive.things.models import Thing

Taken = Sequence[tuple[str, Sequence[TakenIn]]]
# What can be written of a lot after it was accepted.
ALWAYS = ("title", "note", "access")


class InAnotherLot(ValueError):
    """Something that arrived with another lot would be added to this one."""


class TooLong(ValueError):
    """A text would be longer than it may be."""


def _refuse_if_accepted(lot: Lot) -> None:
    if lot.accepted_at is not None:
        raise LotIsAccepted(
            f"Lot {lot} is accepted and stays as it came. Its note can still be written; undo the acceptance on the "
            "page “What happened to it” if it was a mistake.",
            [Clash(str(lot), "accepted", None, "it is accepted and stays as it came")],
        )


def add_lot(who: Account | None, values: Mapping[str, Any], taken: Taken = ()) -> Lot:
    """Record a lot with its pictures, in one change set."""
    with changing(who, "sorting.add_lot"):
        lot = Lot(serial=issue_number("lots"))
        _save(who, lot, values)
        for view, pictures in taken:
            if pictures:
                attach(who, lot, pictures, view=view)
    return lot


def edit_lot(who: Account | None, lot: Lot, values: Mapping[str, Any]) -> None:
    """Change what is said of a lot.

    Raises:
        LotIsAccepted: it is accepted, and more than its name, note or access would change.
    """
    if any(name not in ALWAYS and getattr(lot, name) != value for name, value in values.items()):
        _refuse_if_accepted(lot)
    with changing(who, "sorting.edit_lot"):
        touch(lot)
        _save(who, lot, values)


def _save(who: Account | None, lot: Lot, values: Mapping[str, Any]) -> None:
    for name, value in values.items():
        if name == "from_whom":
            value = person_for(who, value)
        elif name == "from_where":
            value = place_for(who, value)
        setattr(lot, name, value)
    read_into(lot, "arrived", preferences())
    lot.save()


def add_pictures(who: Account | None, lot: Lot, taken: Taken) -> int:
    """Add pictures to a lot and return how many.

    Raises:
        LotIsAccepted
    """
    _refuse_if_accepted(lot)
    with changing(who, "sorting.lot_pictures"):
        return sum(len(attach(who, lot, pictures, view=view)) for view, pictures in taken if pictures)


def add_members(who: Account | None, lot: Lot, records: Sequence[Any], found_where: str = "") -> int:
    """Put things and boxes into a lot after those it has, in the order given; return how many are new in it.

    Raises:
        LotIsAccepted: the lot is accepted.
        InAnotherLot: one of them arrived with another lot; nothing is changed.
    """
    _refuse_if_accepted(lot)
    for record in records:
        if record.lot_id not in (None, lot.pk):
            other = Lot.objects.get(pk=record.lot_id)
            raise InAnotherLot(f"{record} is in the lot {other}. A thing arrives once: take it out there first.")
    new = [record for record in records if record.lot_id is None]
    with changing(who, "sorting.add_members"):
        last = [
            model.objects.filter(lot=lot).aggregate(last=Max("lot_position"))["last"] or 0 for model in (Thing, Box)
        ]
        for place, record in enumerate(new, max(last) + 1):
            record.lot, record.lot_position = lot, place
            if found_where and isinstance(record, Thing):
                record.found_where = found_where
            touch(record)
            record.save()
    return len(new)


def arrange(who: Account | None, lot: Lot, rows: Sequence[tuple[Any, int | None, str]], out: Sequence[Any]) -> None:
    """Set places in the first order and where things lay, and take members out, in one change set.

    Raises:
        LotIsAccepted
    """
    _refuse_if_accepted(lot)
    with changing(who, "sorting.arrange"):
        for record in out:
            record.lot, record.lot_position = None, None
            if isinstance(record, Thing):
                record.found_where = ""
            touch(record)
            record.save()
        for record, place, found_where in rows:
            was = (record.lot_position, getattr(record, "found_where", found_where))
            if was != (place, found_where):
                record.lot_position = place
                if isinstance(record, Thing):
                    record.found_where = found_where
                touch(record)
                record.save()


def accept(who: Account | None, lot: Lot) -> None:
    """Accept a lot: from now on it stays as it came.

    Raises:
        LotIsAccepted: it is accepted already.
    """
    _refuse_if_accepted(lot)
    with changing(who, "sorting.accept"):
        lot.accepted_at = timezone.now()
        touch(lot)
        lot.save()


def keep_apart(who: Account | None, lot: Lot, until: date, why: str) -> None:
    """Keep a lot apart until a day on which it is looked at again."""
    with changing(who, "sorting.keep_apart"):
        lot.quarantine_until, lot.quarantine_why = until, why
        touch(lot)
        lot.save()


def look_again(who: Account | None, lot: Lot, seen: str, until: date | None) -> None:
    """Write down what was seen on looking again, and release the lot or keep it apart until another day.

    Raises:
        TooLong: the note has no room for it.
    """
    today = timezone.localdate()
    outcome = f"kept apart until {until.day} {until:%B %Y}" if until is not None else "released"
    line = f"Looked at again on {today.day} {today:%B %Y}: {seen.strip()} ({outcome})"
    note = f"{lot.note.rstrip()}\n\n{line}" if lot.note.strip() else line
    if len(note) > (Lot._meta.get_field("note").max_length or 0):
        raise TooLong("The note of this lot is as long as it may be. Shorten it, then write down what you saw.")
    with changing(who, "sorting.look_again"):
        lot.note = note
        lot.quarantine_until = until
        if until is None:
            lot.quarantine_why = ""
        touch(lot)
        lot.save()
