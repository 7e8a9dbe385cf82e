"""Things, and the one series of numbers for things, boxes and lots."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse

from archive.access.records import Record, RecordQuerySet, history
from archive.access.subjects import Subject, register_subject
from archive.kinds import Kind, State, kind, state
from archive.numbers import number_of


class IssuedNumber(models.Model):
    """A serial that was given out. Rows stay for good, so that a number never means two things."""

    serial = models.PositiveIntegerField(primary_key=True)
    subject = models.CharField(max_length=20)


class Use(models.TextChoices):
    """How often a thing is taken in the hand."""

    RARE = "rare", "rarely"
    MONTHLY = "monthly", "about once a month"
    WEEKLY = "weekly", "about once a week"


class FilmBase(models.TextChoices):
    """What a film is made of, where somebody has found out."""

    NITRATE = "nitrate", "nitrate"
    ACETATE = "acetate", "acetate (safety film)"
    POLYESTER = "polyester", "polyester"


class StripLevel(models.TextChoices):
    """Reading of an acid-detection strip."""

    LEVEL_0 = "0", "0 (no change)"
    LEVEL_1 = "1", "1"
    LEVEL_15 = "1.5", "1.5"
    LEVEL_2 = "2", "2"
    LEVEL_3 = "3", "3 (critical)"


_SIZE = [MinValueValidator(0.1), MaxValueValidator(20_000)]


class Thing(Record):
    """One catalogued object, or a group kept together."""

    serial = models.OneToOneField(
        IssuedNumber, on_delete=models.PROTECT, related_name="thing", editable=False, verbose_name="number"
    )
    title = models.CharField(max_length=300)
    kind_code = models.CharField("kind", max_length=50, default="unknown", db_index=True)
    states = models.JSONField("condition", default=list, blank=True)
    parts = models.JSONField("parts of another material", default=list, blank=True)
    made_text = models.CharField("made", max_length=200, blank=True)
    made_edtf = models.CharField("made (as read)", max_length=200, blank=True, editable=False)
    # ISO days as text: years before 1 and open ends have no date type; text sorts the same way.
    made_earliest = models.CharField("made, earliest", max_length=12, blank=True, editable=False, db_index=True)
    made_latest = models.CharField("made, latest", max_length=12, blank=True, editable=False)
    width_mm = models.FloatField("width (mm)", null=True, blank=True, validators=_SIZE)
    height_mm = models.FloatField("height (mm)", null=True, blank=True, validators=_SIZE)
    depth_mm = models.FloatField("depth (mm)", null=True, blank=True, validators=_SIZE)
    weight_g = models.FloatField(
        "weight (g)", null=True, blank=True, validators=[MinValueValidator(0.01), MaxValueValidator(2_000_000)]
    )
    count = models.PositiveIntegerField(
        "how many pieces", default=1, validators=[MinValueValidator(1), MaxValueValidator(100_000)]
    )
    use = models.CharField("how often it is taken out", max_length=10, choices=Use.choices, default=Use.RARE)
    film_base = models.CharField("film base", max_length=10, choices=FilmBase.choices, blank=True)
    strip_level = models.CharField("strip level", max_length=4, choices=StripLevel.choices, blank=True)
    note = models.TextField("what you know about it", blank=True, max_length=20_000)

    history = history()
    objects = RecordQuerySet.as_manager()

    class Meta:
        indexes: ClassVar[list[models.Index]] = [models.Index(fields=["-created_at"])]

    def __str__(self) -> str:
        return f"{self.number} {self.title}"

    def get_absolute_url(self) -> str:
        return reverse("things:page", args=[self.public_id])

    @property
    def number(self) -> str:
        return number_of(self.serial_id)

    @property
    def kind(self) -> Kind:
        return kind(self.kind_code)

    @property
    def state_rows(self) -> list[State]:
        return [state(code) for code in self.states]

    @property
    def part_rows(self) -> list[Kind]:
        return [kind(code) for code in self.parts]


def _files(thing: Any) -> list[str]:
    return list(thing.pictures.values_list("sha256", flat=True))


register_subject(Subject("things", Thing, "thing", "things:page", files=_files))
