"""Insect traps on the plan of a room, and what was counted in them."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from django.core.validators import MaxValueValidator
from django.db import models
from django.urls import reverse
from django.utils import timezone

from archive.access.records import Attached, history

GROUPS = ("moth", "beetle", "larva", "silverfish", "other")
_SHARE = [MaxValueValidator(1000)]
_MANY = [MaxValueValidator(10_000)]


class Trap(Attached):
    """A sticky trap: its number in the house, where in the room it lies, and since when."""

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[str] = "room"

    room = models.ForeignKey("archive.Box", on_delete=models.PROTECT, related_name="traps")
    label = models.PositiveIntegerField("number of the trap")
    # Thousandths of the room's width and length, from the left and from the top of the plan.
    across = models.PositiveSmallIntegerField("from the left", default=500, validators=_SHARE)
    along = models.PositiveSmallIntegerField("from the top", default=1000, validators=_SHARE)
    where = models.CharField("where it lies", max_length=300, blank=True)
    lure = models.BooleanField("has a lure (pheromone)", default=False)
    placed_on = models.DateField("placed on", default=timezone.localdate)
    renewed_on = models.DateField("renewed on", null=True, blank=True)
    taken_on = models.DateField("taken away on", null=True, blank=True)

    history = history()

    class Meta:
        verbose_name = "insect trap"
        ordering = ("label", "pk")

    def __str__(self) -> str:
        return f"trap {self.label}"

    def get_absolute_url(self) -> str:
        return reverse("rooms:trap", args=[self.public_id])

    @property
    def fresh_since(self) -> date:
        """The day this sticky sheet was laid."""
        return self.renewed_on or self.placed_on


class TrapCount(Attached):
    """What was in a trap on a day, by group, since it was last counted or renewed."""

    BELONGS_TO: ClassVar[str] = "trap"

    trap = models.ForeignKey(Trap, on_delete=models.PROTECT, related_name="counts")
    counted_on = models.DateField("counted on", default=timezone.localdate)
    since = models.DateField("since")
    moth = models.PositiveIntegerField("moths", default=0, validators=_MANY)
    beetle = models.PositiveIntegerField("beetles", default=0, validators=_MANY)
    larva = models.PositiveIntegerField("larvae and skins", default=0, validators=_MANY)
    silverfish = models.PositiveIntegerField("silverfish", default=0, validators=_MANY)
    other = models.PositiveIntegerField("others", default=0, validators=_MANY)
    renewed = models.BooleanField("a new trap was laid", default=False)
    note = models.CharField("note", max_length=300, blank=True)

    history = history()

    class Meta:
        verbose_name = "count in a trap"
        ordering = ("counted_on", "pk")

    def __str__(self) -> str:
        return f"count of {self.counted_on.day} {self.counted_on:%B %Y}"

    @property
    def animals(self) -> dict[str, int]:
        """How many of each group."""
        return {name: getattr(self, name) for name in GROUPS}
