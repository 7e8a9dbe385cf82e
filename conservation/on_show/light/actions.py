"""Writing what the keeper says of a thing's light, other light it had, bars, and the policy."""

from __future__ import annotations

from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.things.models import Thing
from conservation.on_show.models import BarredSpot, LightUse, ShowPolicy, Spot, ThingLight


def say_of_thing(who: Account, thing: Thing, values: dict[str, Any]) -> ThingLight:
    """Record where a thing differs from what its kind says; empty values mean by its kind."""
    with changing(who, "light.say"):
        row = ThingLight.objects.filter(thing=thing).first()
        if row is None:
            row = ThingLight(thing=thing)
        else:
            touch(row)
        for name, value in values.items():
            setattr(row, name, value)
        row.save()
    return row


def add_use(who: Account, thing: Thing, values: dict[str, Any]) -> LightUse:
    """Record light that a thing got otherwise than on show, in lux hours."""
    with changing(who, "light.use"):
        row = LightUse(thing=thing, **values)
        row.save()
    return row


def remove_use(who: Account, row: LightUse) -> None:
    """Take back light that was recorded by mistake; its history stays."""
    with changing(who, "light.unuse"):
        row.delete()


def bar(who: Account, thing: Thing, spot: Spot, why: str) -> BarredSpot:
    """Say that a thing is not to be shown at a spot, and why; said again, the reason is the new one."""
    with changing(who, "light.bar"):
        row = BarredSpot.objects.filter(thing=thing, spot=spot).first()
        if row is None:
            row = BarredSpot(thing=thing, spot=spot)
        else:
            touch(row)
        row.why = why
        row.save()
    return row


def unbar(who: Account, row: BarredSpot) -> None:
    """Let a thing be shown at a spot again."""
    with changing(who, "light.unbar"):
        row.delete()


def choose_policy(who: Account, values: dict[str, Any]) -> ShowPolicy:
    """Set what holds for everything on show."""
    with changing(who, "light.policy"):
        row = ShowPolicy.objects.filter(pk=1).first() or ShowPolicy(pk=1)
        for name, value in values.items():
            setattr(row, name, value)
        row.save()
    return row
