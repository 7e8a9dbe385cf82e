"""Writing the archive's settings."""

from __future__ import annotations

from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.keeping.autostart import set_autostart
from archive.preferences.models import Preferences
from archive.preferences.queries import preferences, read_anew


def save_preferences(who: Account, values: dict[str, Any]) -> None:
    """Save the settings and write or remove the file that starts Kistbook at log-in.

    Raises:
        OSError: the start-up file cannot be written; nothing is saved.
    """
    kept = preferences()
    if values["starts_at_login"] != kept.starts_at_login:
        set_autostart(values["starts_at_login"])
    for name, value in values.items():
        setattr(kept, name, value)
    with changing(who, "preferences.edit"):
        kept.save()
    read_anew()


def begin_with(values: dict[str, Any]) -> Preferences:
    """Lay down the settings of a new archive (first visit, demo)."""
    kept = preferences()
    for name, value in values.items():
        setattr(kept, name, value)
    kept.save()
    read_anew()
    return kept
