"""Writing treatments by cold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.things.models import Thing
from conservation.rooms.freezing.models import Freezing, FreezingReading, FreezingStay, FreezingThing


class NotNow(ValueError):
    """A step that cannot come next; the message is a sentence."""


def add_freezing(
    who: Account | None,
    values: Mapping[str, Any],
    things: Sequence[tuple[Thing, bool]],
    went_in: datetime | None = None,
) -> Freezing:
    """Record a bag and what is in it; with each thing whether a conservator advised it."""
    with changing(who, "rooms.add_freezing"):
        freezing = Freezing(**values)
        freezing.save()
        for thing, advised in things:
            FreezingThing(freezing=freezing, thing=thing, advised=advised).save()
        if went_in is not None:
            FreezingStay(freezing=freezing, went_in=went_in).save()
    return freezing


def put_in(who: Account | None, freezing: Freezing, at: datetime) -> None:
    """Record that the bag went into the freezer, for the first time or again after a thaw.

    Raises:
        NotNow: it is in already, or came out later than this.
    """
    with changing(who, "rooms.freezing_in"):
        last = FreezingStay.objects.filter(freezing=freezing).order_by("-went_in", "-pk").first()
        if last is not None and last.came_out is None:
            raise NotNow("The bag is in the freezer already.")
        if last is not None and last.came_out is not None and at < last.came_out:
            raise NotNow("It came out later than this. Look at the time again.")
        FreezingStay(freezing=freezing, went_in=at).save()


def take_out(who: Account | None, freezing: Freezing, at: datetime) -> None:
    """Record that the bag came out.

    Raises:
        NotNow: it is not in, or went in later than this.
    """
    with changing(who, "rooms.freezing_out"):
        stay = FreezingStay.objects.filter(freezing=freezing, came_out__isnull=True).first()
        if stay is None:
            raise NotNow("The bag is not in the freezer.")
        if at < stay.went_in:
            raise NotNow("It went in later than this. Look at the time again.")
        stay.came_out = at
        touch(stay)
        stay.save()


def read(who: Account | None, freezing: Freezing, at: datetime, celsius: float) -> None:
    """Record the temperature inside the bag (°C)."""
    with changing(who, "rooms.freezing_read"):
        FreezingReading(freezing=freezing, at=at, celsius=celsius).save()


def open_bag(who: Account | None, freezing: Freezing, at: datetime) -> None:
    """Record that the bag was opened.

    Raises:
        NotNow: it is still in the freezer.
    """
    with changing(who, "rooms.freezing_open"):
        if FreezingStay.objects.filter(freezing=freezing, came_out__isnull=True).exists():
            raise NotNow("The bag is still in the freezer. Say first when it came out.")
        freezing.opened_at = at
        touch(freezing)
        freezing.save()


def recheck(who: Account | None, freezing: Freezing, day: date) -> None:
    """Record that the place it came from was looked at again."""
    with changing(who, "rooms.freezing_recheck"):
        freezing.rechecked_on = day
        touch(freezing)
        freezing.save()


def stop(who: Account | None, freezing: Freezing, why: str) -> None:
    """Stop a treatment, with the reason."""
    with changing(who, "rooms.freezing_stop"):
        freezing.stopped_why = why
        touch(freezing)
        freezing.save()
