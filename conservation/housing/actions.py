"""Writing housing decisions, and where boxes stand."""

from __future__ import annotations

from datetime import date
from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.boxes.models import Box
from archive.things.models import Thing
from conservation.housing.models import HousingDecision, StandingPlace


def decide(who: Account, thing: Thing, values: dict[str, Any]) -> HousingDecision:
    """Record what a thing will be, or was, put in. Earlier decisions stay as they were."""
    with changing(who, "housing.decide"):
        decision = HousingDecision(thing=thing, **values)
        decision.save()
    return decision


def mark_done(who: Account, decision: HousingDecision, day: date) -> None:
    """Record that a decision has been carried out."""
    with changing(who, "housing.done"):
        decision.done_on = day
        touch(decision)
        decision.save()


def say_where_it_stands(who: Account, box: Box, furniture: str, location: str) -> None:
    """Record in what furniture and part of the house a node of the storage tree is; empty takes it back."""
    with changing(who, "housing.place"):
        row = StandingPlace.objects.filter(box=box).first()
        if row is None:
            if not furniture and not location:
                return
            row = StandingPlace(box=box)
        else:
            touch(row)
        row.furniture, row.location = furniture, location
        row.save()
