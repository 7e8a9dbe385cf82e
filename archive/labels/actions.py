"""Noting what was printed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.labels.models import PrintedSheet
from archive.preferences.queries import preferences


def remember_printer(who: Account, own: dict[str, Any], right_mm: float, down_mm: float) -> None:
    """Keep the measures of the keeper's own sheet, and how far this printer is off, for the next time."""
    kept = preferences()
    known = {"own": own or kept.label_sheet.get("own", {}), "right_mm": right_mm, "down_mm": down_mm}
    if known != kept.label_sheet:
        kept.label_sheet = known
        with changing(who, "labels.printer"):
            kept.save()


def note_printed(who: Account, layout: str, serials: Sequence[int]) -> None:
    """Note that labels with these serials were made into a sheet."""
    with changing(who, "labels.print"):
        sheet = PrintedSheet.objects.create(who=who, layout=layout)
        sheet.labels.add(*serials)
