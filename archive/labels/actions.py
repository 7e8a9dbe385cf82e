"""Noting what was printed."""

from __future__ import annotations

from collections.abc import Sequence

from archive.access.changes import changing
from archive.access.models import Account
from archive.labels.models import PrintedSheet


def note_printed(who: Account, layout: str, serials: Sequence[int]) -> None:
    """Note that labels with these serials were made into a sheet."""
    with changing(who, "labels.print"):
        sheet = PrintedSheet.objects.create(who=who, layout=layout)
        sheet.labels.add(*serials)
