"""Every subject's tables, so that Django finds them."""

from __future__ import annotations

from archive.access.models import (
    Account,
    ActedForm,
    ChangeSet,
    Invitation,
    Tombstone,
)
from archive.keeping.models import *  # noqa: F403
from archive.labels.models import PrintedSheet
from archive.pictures.models import Picture
from archive.preferences.models import Preferences
from archive.things.models import IssuedNumber, Thing

__all__ = [
    "Account",
    "ActedForm",
    "ChangeSet",
    "Invitation",
    "IssuedNumber",
    "Picture",
    "Preferences",
    "PrintedSheet",
    "Thing",
    "Tombstone",
]
