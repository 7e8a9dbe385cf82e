"""What is in the archive already, for pasted rows."""

from __future__ import annotations

from collections.abc import Iterable

from archive.access.models import Account
from archive.things.models import Thing

_SPLIT_AT = 500


def titles_there(titles: Iterable[str], reader: Account) -> set[str]:
    """Return of some titles those that things in the archive have already."""
    asked = sorted(set(titles))
    there: set[str] = set()
    for start in range(0, len(asked), _SPLIT_AT):
        found = Thing.objects.visible_to(reader).present().filter(title__in=asked[start : start + _SPLIT_AT])
        there.update(found.order_by().values_list("title", flat=True))
    return there
