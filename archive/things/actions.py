"""Recording and changing things."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import Max

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.kinds import STATE_CODES
from archive.numbers import is_given_out
from archive.people.actions import person_for
from archive.people.queries import NewName
from archive.pictures.actions import TakenIn, attach
from archive.preferences.models import Preferences
from archive.preferences.queries import preferences, read_into
from archive.things.models import IssuedNumber, Thing


def issue_number(subject: str) -> IssuedNumber:
    """Give out the next number of the one series; serials whose check character is X are skipped."""
    serial: int = IssuedNumber.objects.aggregate(last=Max("serial"))["last"] or 0
    serial += 1
    while not is_given_out(serial):
        serial += 1
    return IssuedNumber.objects.create(serial=serial, subject=subject)


def issue_numbers(subject: str, how_many: int) -> list[IssuedNumber]:
    """Give out the next numbers of the one series, many at once, in their order."""
    serial: int = IssuedNumber.objects.aggregate(last=Max("serial"))["last"] or 0
    issued: list[IssuedNumber] = []
    while len(issued) < how_many:
        serial += 1
        if is_given_out(serial):
            issued.append(IssuedNumber(serial=serial, subject=subject))
    return IssuedNumber.objects.bulk_create(issued)


def add_thing(who: Account | None, values: dict[str, Any], pictures: Sequence[TakenIn], kept: Preferences) -> Thing:
    """Record a thing with its pictures, in one transaction; the files are on disk already."""
    with changing(who, "things.add"):
        thing = Thing(serial=issue_number("things"), **values)
        read_into(thing, "made", kept)
        thing.save()
        attach(who, thing, pictures)
    return thing


def edit_thing(who: Account, thing: Thing, values: dict[str, Any], kept: Preferences) -> None:
    """Change a thing's own fields."""
    set_fields(who, thing, values, "things.edit", kept)


def set_fields(
    who: Account | None, thing: Thing, values: Mapping[str, Any], verb: str, kept: Preferences | None = None
) -> None:
    """Change some of a thing's fields as one act named ``verb``; typed dates are read, new people are made."""
    kept = kept or preferences()
    with changing(who, verb):
        for name, value in values.items():
            setattr(thing, name, person_for(who, value) if isinstance(value, NewName) else value)
        for name in ("made", "came"):
            if f"{name}_text" in values:
                read_into(thing, name, kept)
        touch(thing)
        thing.save()


def set_states(who: Account | None, thing: Thing, states: Sequence[str]) -> None:
    """Write down the condition a thing was found in.

    Raises:
        ValueError: a code is not in the list of states.
    """
    unknown = sorted(set(states) - set(STATE_CODES))
    if unknown:
        raise ValueError(f"no such state: {', '.join(unknown)}")
    wanted = [code for code in dict.fromkeys(states) if code != "sound"]
    if wanted != thing.states:
        set_fields(who, thing, {"states": wanted}, "things.states")
