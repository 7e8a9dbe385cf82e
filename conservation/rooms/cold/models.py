"""Cold places of the storage tree, and what was taken out of them and is warming up."""

from __future__ import annotations

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from archive.access.records import Attached, history


class ColdPlace(Attached):
    """That a node of the storage tree is a refrigerator or freezer kept for film and colour alone."""

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[str] = "box"

    box = models.OneToOneField("archive.Box", on_delete=models.PROTECT, related_name="cold_place")
    appliance = models.CharField("what it is", max_length=20)  # refrigerator, freezer
    frost_free = models.BooleanField("keeps itself free of frost", null=True, blank=True)
    no_food = models.BooleanField("no food in it", default=False)
    temperature_c = models.FloatField(
        "temperature in it (°C)", null=True, blank=True, validators=[MinValueValidator(-60), MaxValueValidator(30)]
    )
    measured_on = models.DateField("measured on", null=True, blank=True)
    card_pct = models.PositiveSmallIntegerField(
        "dampest card (%)", null=True, blank=True, validators=[MaxValueValidator(100)]
    )
    note = models.TextField("note", blank=True, max_length=20_000)

    history = history()

    class Meta:
        verbose_name = "cold place"

    def __str__(self) -> str:
        return f"{self.appliance} {self.box}"


class ColdTrip(Attached):
    """One package taken out of the cold: how large, when, when it may be opened, when it was, and when it went back."""

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[tuple[str, ...]] = ("place", "box", "thing")

    place = models.ForeignKey(
        "archive.Box", on_delete=models.PROTECT, related_name="cold_trips", verbose_name="taken out of"
    )
    box = models.ForeignKey(
        "archive.Box", null=True, blank=True, on_delete=models.PROTECT, related_name="trips_from_cold"
    )
    thing = models.ForeignKey(
        "archive.Thing", null=True, blank=True, on_delete=models.PROTECT, related_name="trips_from_cold"
    )
    package = models.CharField("how large", max_length=20)  # one-or-two, packet, box
    why = models.CharField("what for", max_length=300, blank=True)
    out_at = models.DateTimeField("taken out", default=timezone.now)
    opens_at = models.DateTimeField("not to be opened before")
    opened_at = models.DateTimeField("opened", null=True, blank=True)
    back_at = models.DateTimeField("back in the cold", null=True, blank=True)

    history = history()

    class Meta:
        verbose_name = "time out of the cold"
        ordering = ("-out_at", "-pk")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(box__isnull=True) ^ models.Q(thing__isnull=True), name="a_trip_is_of_one_record"
            ),
            models.CheckConstraint(
                condition=models.Q(opened_at__isnull=True) | models.Q(opened_at__gte=models.F("out_at")),
                name="opened_after_it_was_taken_out",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.box or self.thing} out of {self.place}"
