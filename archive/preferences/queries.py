"""Reading the archive's settings."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from copy import copy
from typing import Any

from archive.dates import DateReading, read_date
from archive.preferences.models import Preferences

# Within one request the settings are read once; the list is empty until they are.
_read: ContextVar[list[Preferences] | None] = ContextVar("preferences_read", default=None)


@contextmanager
def read_once() -> Iterator[None]:
    """Have the settings read at most once inside; a request is short, and every part of a page asks for them."""
    token = _read.set([])
    try:
        yield
    finally:
        _read.reset(token)


def read_anew() -> None:
    """Forget what was read, since the settings were saved."""
    if (read := _read.get()) is not None:
        read.clear()


def preferences() -> Preferences:
    """Return the settings; before the keeper has saved any, the defaults with the computer's own time zone.

    The record is the caller's own to change and save.
    """
    read = _read.get()
    if read:
        return copy(read[0])
    kept = Preferences.objects.filter(pk=1).first()
    if kept is None:
        kept = Preferences(pk=1, zone=guessed_zone())
    if read is not None:
        read.append(copy(kept))
    return kept


def guessed_zone() -> str:
    """Return the name of this computer's time zone, UTC where it cannot be told."""
    import zoneinfo

    import tzlocal

    name = tzlocal.get_localzone_name() or "UTC"
    return name if name in zoneinfo.available_timezones() else "UTC"


def understood(typed: str, kept: Preferences) -> DateReading | None:
    """Return how a typed date is read with the keeper's settings; None when nothing is typed."""
    typed = typed.strip()[:200]
    if not typed:
        return None
    return read_date(typed, day_first=kept.day_first(), southern_seasons=kept.southern)


def read_into(record: Any, name: str, kept: Preferences) -> None:
    """Read a record's typed date ``NAME_text`` into its columns ``NAME_edtf``, ``NAME_earliest`` and ``NAME_latest``.

    What cannot be read stays as typed, with empty bounds; the page asks. Nothing is saved here.
    """
    read = read_date(getattr(record, f"{name}_text"), day_first=kept.day_first(), southern_seasons=kept.southern)
    setattr(record, f"{name}_edtf", read.edtf or "")
    setattr(record, f"{name}_earliest", read.earliest or "")
    setattr(record, f"{name}_latest", read.latest or "")
