"""The storage tree: home, room, furniture, shelf, box, folder. Every node has a number from the one series."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse

from archive.access.records import Attached, CannotBe, Record, RecordQuerySet, history
from archive.access.subjects import Subject, register_subject
from archive.folding import fold
from archive.kinds import Kind, kind
from archive.numbers import number_of
from archive.things.models import IssuedNumber

_INNER = [MinValueValidator(1), MaxValueValidator(20_000)]


class Level(models.TextChoices):
    """What a node of the storage tree is, from the largest to the smallest."""

    HOME = "home", "house or flat"
    ROOM = "room", "room"
    FURNITURE = "furniture", "piece of furniture"
    SHELF = "shelf", "shelf or drawer"
    BOX = "box", "box, case or album"
    FOLDER = "folder", "folder or envelope"


SIZES = tuple(Level)  # from the largest to the smallest


class StandsInItself(CannotBe):
    """A box cannot be saved as it is: what it would stand in stands in it."""


class Box(Record):
    """One node of the storage tree. A node may stand in any node of the same or a larger level, never in itself."""

    serial = models.OneToOneField(
        IssuedNumber, on_delete=models.PROTECT, related_name="box", editable=False, verbose_name="number"
    )
    level = models.CharField("what it is", max_length=10, choices=Level.choices, default=Level.BOX, db_index=True)
    title = models.CharField("name", max_length=300)
    title_folded = models.CharField(max_length=600, blank=True, editable=False, db_index=True)
    inside = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="holds", verbose_name="stands in"
    )
    position = models.PositiveIntegerField("order", default=0)
    inner_width_mm = models.FloatField("inner width (mm)", null=True, blank=True, validators=_INNER)
    inner_height_mm = models.FloatField("inner height (mm)", null=True, blank=True, validators=_INNER)
    inner_depth_mm = models.FloatField("inner depth (mm)", null=True, blank=True, validators=_INNER)
    made_of = models.CharField("what it is made of", max_length=200, blank=True)
    lot = models.ForeignKey(
        "archive.Lot",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="boxes",
        verbose_name="arrived with",
    )
    lot_position = models.PositiveIntegerField("place in the first order", null=True, blank=True)
    note = models.TextField("note", blank=True, max_length=20_000)

    history = history()
    objects = RecordQuerySet.as_manager()

    class Meta:
        ordering = ("position", "title_folded", "pk")

    def __str__(self) -> str:
        return f"{self.number} {self.title}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.title_folded = fold(self.title)
        self._refuse_a_loop()
        super().save(*args, **kwargs)

    def _refuse_a_loop(self) -> None:
        """Walk up from where it is to stand: the last guard, also when a change is undone."""
        above, seen = self.inside_id, set[int]()
        while above is not None and above not in seen:
            if above == self.pk:
                raise StandsInItself(f"{self} would stand in itself.")
            seen.add(above)
            above = Box.objects.filter(pk=above).order_by().values_list("inside_id", flat=True).first()

    def fits(self, goal: Box) -> bool:
        """Say whether it may stand in another by their sizes: nothing stands in what is smaller than itself."""
        return SIZES.index(Level(goal.level)) <= SIZES.index(Level(self.level))

    def get_absolute_url(self) -> str:
        return reverse("boxes:page", args=[self.public_id])

    @property
    def number(self) -> str:
        return number_of(self.serial_id)


class RoughCount(Attached):
    """How many things of a kind are in a box, roughly, as a first look found them."""

    BELONGS_TO: ClassVar[str] = "box"

    box = models.ForeignKey(Box, on_delete=models.PROTECT, related_name="rough_counts")
    kind_code = models.CharField("kind", max_length=50)
    count = models.PositiveIntegerField("about how many", validators=[MinValueValidator(1), MaxValueValidator(100_000)])

    history = history()

    class Meta:
        verbose_name = "rough count"
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"about {self.count} {self.kind_code}"

    @property
    def kind(self) -> Kind:
        return kind(self.kind_code)


def _files(box: Any) -> list[str]:
    return list(box.pictures.values_list("sha256", flat=True))


register_subject(Subject("boxes", Box, "box", "boxes:page", files=_files))
