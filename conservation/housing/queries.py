"""Reading what housing needs of things."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from archive.access.models import Account
from archive.things.models import Thing


def rows_for_flags(thing_ids: Sequence[int]) -> list[tuple[Any, ...]]:
    """Return the columns that decide hazards, for many things in one query."""
    return list(
        Thing.objects.filter(pk__in=list(thing_ids)).values_list(
            "pk", "kind_code", "states", "parts", "made_earliest", "film_base", "weight_g"
        )
    )


def unknown_kinds(reader: Account | None, how_many: int) -> list[Thing]:
    """Return things whose kind nobody has told yet, the oldest record first."""
    things = Thing.objects.visible_to(reader).present().filter(kind_code="unknown").order_by("created_at")
    return list(things[:how_many])
