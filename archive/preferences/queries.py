"""Reading the archive's settings."""

from __future__ import annotations

from archive.preferences.models import Preferences


def preferences() -> Preferences:
    """Return the settings; before the keeper has saved any, the defaults with the computer's own time zone."""
    kept = Preferences.objects.filter(pk=1).first()
    if kept is None:
        kept = Preferences(pk=1, zone=guessed_zone())
    return kept


def guessed_zone() -> str:
    """Return the name of this computer's time zone, UTC where it cannot be told."""
    import zoneinfo

    import tzlocal

    name = tzlocal.get_localzone_name() or "UTC"
    return name if name in zoneinfo.available_timezones() else "UTC"
