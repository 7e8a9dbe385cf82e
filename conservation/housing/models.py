"""What the keeper decided about a thing's housing, and in what furniture and place a box stands."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.utils import timezone

from archive.access.records import Attached, history


class HousingDecision(Attached):
    """What a thing is put in, as the keeper chose it, with the reason; the latest one holds."""

    BELONGS_TO: ClassVar[str] = "thing"

    thing = models.ForeignKey("archive.Thing", on_delete=models.PROTECT, related_name="housing_decisions")
    form = models.CharField("put it in", max_length=30)  # a code of the list `form`
    material = models.CharField("of", max_length=30, blank=True)  # a code of the list `material`
    words = models.CharField("in your own words", max_length=300, blank=True)
    reason = models.CharField("why", max_length=300, blank=True)
    decided_on = models.DateField("decided on", default=timezone.localdate)
    done_on = models.DateField("done on", null=True, blank=True)

    history = history()

    class Meta:
        verbose_name = "housing decision"
        ordering = ("-decided_on", "-pk")
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["decided_on", "id"], name="housing_to_do", condition=models.Q(done_on__isnull=True)),
        ]

    def __str__(self) -> str:
        return self.words or self.form


class StandingPlace(Attached):
    """In what furniture, and in what part of the house, a node of the storage tree stands."""

    BELONGS_TO: ClassVar[str] = "box"

    box = models.OneToOneField("archive.Box", on_delete=models.PROTECT, related_name="standing_place")
    furniture = models.CharField("what it is, or stands in", max_length=30, blank=True)  # code of `furniture`
    location = models.CharField("what part of the house it is in", max_length=30, blank=True)  # code of `location`

    history = history()

    class Meta:
        verbose_name = "place in the house"

    def __str__(self) -> str:
        return self.location or self.furniture
