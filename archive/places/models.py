"""Places on the map: towns, houses, farms, with the names they had before."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse

from archive.access.records import Attached, Record, RecordQuerySet, history
from archive.access.subjects import Subject, register_subject
from archive.folding import fold


class Place(Record):
    """A place; it may lie within another."""

    name = models.CharField("name", max_length=300)
    name_folded = models.CharField(max_length=600, blank=True, editable=False, db_index=True)
    within = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="places", verbose_name="lies in"
    )
    latitude = models.FloatField(
        "latitude (°)", null=True, blank=True, validators=[MinValueValidator(-90), MaxValueValidator(90)]
    )
    longitude = models.FloatField(
        "longitude (°)", null=True, blank=True, validators=[MinValueValidator(-180), MaxValueValidator(180)]
    )
    note = models.TextField("what you know", blank=True, max_length=20_000)

    history = history()
    objects = RecordQuerySet.as_manager()
    # Set on places read for somebody who may not see what the place lies in.
    within_hidden = False

    class Meta:
        ordering = ("name_folded", "pk")

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.name_folded = fold(self.name)
        super().save(*args, **kwargs)

    def get_absolute_url(self) -> str:
        return reverse("places:page", args=[self.public_id])

    @property
    def label(self) -> str:
        """Return the name with what it lies in, to tell places of one name apart; wants ``within`` at hand."""
        return f"{self.name}, in {self.within.name}" if not self.within_hidden and self.within else self.name


class PlaceName(Attached):
    """A name that a place had, and when."""

    BELONGS_TO: ClassVar[str] = "place"

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="names")
    name = models.CharField("name", max_length=300)
    name_folded = models.CharField(max_length=600, blank=True, editable=False, db_index=True)
    when = models.CharField("when it was used", max_length=200, blank=True)

    history = history()

    class Meta:
        verbose_name = "name"
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.name

    def said_already(self, others: models.QuerySet[Any]) -> Any:
        """Return a name of the same place that is spelt the same."""
        return others.filter(place=self.place_id, name=self.name).first()

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.name_folded = fold(self.name)
        super().save(*args, **kwargs)


register_subject(Subject("places", Place, "place", "places:page"))
