"""Recording and changing things."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Max
from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.dates import read_date
from archive.numbers import is_given_out
from archive.pictures.actions import TakenIn, attach
from archive.preferences.models import Preferences
from archive.things.models import IssuedNumber, Thing


def issue_number(subject: str) -> IssuedNumber:
    """Give out the next number of the one series; serials whose check character is X are skipped."""
    serial: int = IssuedNumber.objects.aggregate(last=Max("serial"))["last"] or 0
    serial += 1
    while not is_given_out(serial):
        serial += 1
    return IssuedNumber.objects.create(serial=serial, subject=subject)


def add_thing(who: Account | None, values: dict[str, Any], pictures: Sequence[TakenIn], kept: Preferences) -> Thing:
    """Record a thing with its pictures, in one transaction; the files are on disk already."""
    with changing(who, "things.add"):
        thing = Thing(serial=issue_number("things"), **values)
        _read_made(thing, kept)
        thing.save()
        attach(who, thing, pictures)
    return thing


def edit_thing(who: Account, thing: Thing, values: dict[str, Any], kept: Preferences) -> None:
    """Change a thing's own fields."""
    with changing(who, "things.edit"):
        for name, value in values.items():
            setattr(thing, name, value)
        _read_made(thing, kept)
        thing.version += 1
        thing.changed_at = timezone.now()
        thing.save()


def _read_made(thing: Thing, kept: Preferences) -> None:
    """Read the made date as typed; what cannot be read stays as typed and the page asks."""
    read = read_date(thing.made_text, day_first=kept.day_first(), southern_seasons=kept.southern)
    thing.made_edtf = read.edtf or ""
    thing.made_earliest = read.earliest or ""
    thing.made_latest = read.latest or ""
