"""When two things are one, recorded twice."""

from __future__ import annotations

import difflib

from django.db.models import Q

from archive.access.models import Account
from archive.access.uniting import Rules, register_rules
from archive.folding import fold
from archive.things.models import Thing
from archive.things.queries import by_number

_LOOKED_AT = 400


def _near(thing: Thing, reader: Account | None) -> list[Thing]:
    """Return things whose title is much like this one's, the likest first."""
    begins = Q()
    for word in thing.title.split():
        if len(word) >= 4:
            begins |= Q(title__icontains=word[:5])
    if not begins:
        return []
    title = fold(thing.title)

    def likeness(other: Thing) -> float:
        return difflib.SequenceMatcher(None, title, fold(other.title), autojunk=False).ratio()

    things = Thing.objects.visible_to(reader).present().exclude(pk=thing.pk).filter(begins).order_by("-serial_id")
    return sorted(things[:_LOOKED_AT], key=likeness, reverse=True)[:8]


def _find(typed: str, reader: Account | None) -> list[Thing]:
    """Return the things that a typed number or whole title means."""
    found = by_number(typed, reader)
    if found is not None:
        return [found]
    things = Thing.objects.visible_to(reader).present().filter(title__iexact=" ".join(typed.split()))
    return list(things.order_by("serial_id")[:20])


register_rules(
    "things",
    Rules(
        near=_near,
        find=_find,
        together=(
            ("significance", "significance_why"),
            ("closed_until", "closed_why"),
            ("lot", "lot_position", "found_where"),
            ("borrowed_from", "borrowed_until"),
        ),
        # Where it stands, and what may be shown, was decided for the kept one.
        never=("standing", "standing_why", "standing_on", "gone_how", "gone_agreed", "copy_kept", "title"),
        empty=(("kind_code", "unknown"),),
        asks="The number of the other one, or its whole title",
    ),
)
