"""Treating insects by cold: the bag, what is in it, its stays in the freezer, and the temperature inside it."""

from __future__ import annotations

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse

from archive.access.records import Attached, history


class Freezing(Attached):
    """One bag treated by cold."""

    title = models.CharField("name of the bag", max_length=200)
    box = models.ForeignKey(
        "archive.Box", null=True, blank=True, on_delete=models.PROTECT, related_name="freezings",
        verbose_name="where it came from",
    )  # fmt: skip
    finding = models.ForeignKey(
        "conservation.Finding", null=True, blank=True, on_delete=models.PROTECT, related_name="freezings"
    )
    freezer = models.CharField("which freezer", max_length=200, blank=True)
    opened_at = models.DateTimeField("opened", null=True, blank=True)
    rechecked_on = models.DateField("the place it came from was checked again on", null=True, blank=True)
    stopped_why = models.CharField("why it was stopped", max_length=300, blank=True)
    note = models.TextField("note", blank=True, max_length=20_000)

    history = history()

    class Meta:
        verbose_name = "treatment by cold"
        ordering = ("-created_at", "-pk")

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("rooms:freezing", args=[self.public_id])

    @property
    def is_over(self) -> bool:
        """Say whether nothing of it is left to do."""
        return bool(self.stopped_why) or (self.opened_at is not None and self.rechecked_on is not None)


class FreezingThing(Attached):
    """A thing in the bag; ``advised`` where a conservator said that it may be frozen."""

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[tuple[str, ...]] = ("freezing", "thing")

    freezing = models.ForeignKey(Freezing, on_delete=models.PROTECT, related_name="things")
    thing = models.ForeignKey("archive.Thing", on_delete=models.PROTECT, related_name="freezings")
    advised = models.BooleanField("a conservator said so", default=False)

    history = history()

    class Meta:
        verbose_name = "thing treated by cold"
        ordering = ("pk",)
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["freezing", "thing"], name="a_thing_once_in_a_bag")
        ]

    def __str__(self) -> str:
        return str(self.freezing)


class FreezingStay(Attached):
    """One stay in the freezer."""

    BELONGS_TO: ClassVar[str] = "freezing"

    freezing = models.ForeignKey(Freezing, on_delete=models.PROTECT, related_name="stays")
    went_in = models.DateTimeField("went in")
    came_out = models.DateTimeField("came out", null=True, blank=True)

    history = history()

    class Meta:
        verbose_name = "stay in the freezer"
        ordering = ("went_in", "pk")

    def __str__(self) -> str:
        return f"stay of {self.freezing}"


class FreezingReading(Attached):
    """The temperature inside the bag at a time, as it was typed; many a treatment has a dozen."""

    BELONGS_TO: ClassVar[str] = "freezing"

    freezing = models.ForeignKey(Freezing, on_delete=models.PROTECT, related_name="readings")
    at = models.DateTimeField("read at")
    celsius = models.FloatField("inside the bag (°C)", validators=[MinValueValidator(-90), MaxValueValidator(60)])

    history = history()

    class Meta:
        verbose_name = "temperature inside the bag"
        ordering = ("at", "pk")

    def __str__(self) -> str:
        return f"{self.celsius:g} °C"
