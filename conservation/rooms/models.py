"""Rooms as the air and the rounds know them."""

from __future__ import annotations

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from archive.access.records import Attached, history

_SIDE = [MinValueValidator(1), MaxValueValidator(100_000)]


class RoomFacts(Attached):
    """What a room of the storage tree is like: walls, windows, heat, water, equipment. One row per room."""

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[str] = "box"

    box = models.OneToOneField("archive.Box", on_delete=models.PROTECT, related_name="room_facts")
    # Answers are codes of the lists room_… in data/words/en.toml; empty means nobody has said yet.
    floor = models.CharField("where in the house", max_length=20, blank=True)  # cellar, ground, upper, loft, outside
    outside_walls = models.JSONField("outside walls look", default=list, blank=True)  # north, east, south, west
    windows = models.PositiveSmallIntegerField(
        "how many windows", null=True, blank=True, validators=[MaxValueValidator(50)]
    )
    light = models.CharField("how much daylight", max_length=20, blank=True)  # dark, dim, bright, sun
    heat = models.JSONField("what heats it", default=list, blank=True)  # radiator, stove, fireplace, underfloor …
    water = models.JSONField("where water could come from", default=list, blank=True)  # pipes, roof, bathroom-above …
    equipment = models.JSONField("what stands in it", default=list, blank=True)  # air-conditioner, dehumidifier …
    width_mm = models.FloatField("width (mm)", null=True, blank=True, validators=_SIDE)
    length_mm = models.FloatField("length (mm)", null=True, blank=True, validators=_SIDE)
    note = models.TextField("note", blank=True, max_length=20_000)

    history = history()

    class Meta:
        verbose_name = "room"

    def __str__(self) -> str:
        return f"about {self.box}"
