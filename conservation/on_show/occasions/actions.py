"""Writing the keeper's own days, and what they made of the days that the catalogue knows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.things.models import Thing
from conservation.on_show.models import OccasionChoice, OccasionThing, OwnOccasion


def add_own(who: Account, values: dict[str, Any], things: Sequence[Thing]) -> OwnOccasion:
    """Record a day that matters."""
    with changing(who, "occasions.add"):
        occasion = OwnOccasion(**values)
        occasion.save()
        _tie(occasion, things)
    return occasion


def change_own(who: Account, occasion: OwnOccasion, values: dict[str, Any], things: Sequence[Thing]) -> None:
    """Change a day and the things that would be right for it."""
    with changing(who, "occasions.edit"):
        for name, value in values.items():
            setattr(occasion, name, value)
        touch(occasion)
        occasion.save()
        _tie(occasion, things)


def _tie(occasion: OwnOccasion, things: Sequence[Thing]) -> None:
    """Make the things of a day those given; what is withdrawn stands on no form, and stays tied for when it is back."""
    wanted = {thing.pk: thing for thing in things}
    for row in OccasionThing.objects.filter(occasion=occasion, thing__withdrawn_at__isnull=True):
        if row.thing_id in wanted:
            del wanted[row.thing_id]
        else:
            row.delete()
    for thing in wanted.values():
        OccasionThing(occasion=occasion, thing=thing).save()


def choose(who: Account, key: str, counts: bool, weight: int | None) -> None:
    """Say whether a day of the catalogue counts, and what it weighs; None leaves it to the rule."""
    with changing(who, "occasions.choose"):
        row = OccasionChoice.objects.filter(key=key).first() or OccasionChoice(key=key)
        if row.pk:
            touch(row)
        row.counts, row.weight = counts, weight
        row.save()
