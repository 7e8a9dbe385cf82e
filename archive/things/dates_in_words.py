"""How a typed date was understood, for pages."""

from __future__ import annotations

from archive.dates import DateReading, read_date
from archive.preferences.models import Preferences


def echo(typed: str, kept: Preferences) -> DateReading | None:
    """Read a typed date with the keeper's settings; None when nothing is typed."""
    typed = typed.strip()[:200]
    if not typed:
        return None
    return read_date(typed, day_first=kept.day_first(), southern_seasons=kept.southern)
