"""Sensors, where their readings came from, and what their readings mean. The readings themselves: see ``store.py``."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.urls import reverse
from django.utils import timezone

from archive.access.records import Record, RecordQuerySet, history, new_public_id
from archive.access.subjects import Subject, register_subject

BY_HAND = "read by hand"  # the name of what stands for readings typed off a dial


class Placement(models.TextChoices):
    """Where in a room a sensor is: the air there is not the same everywhere."""

    FREE = "free", "free in the room, at breathing height or on a shelf"
    INNER = "inner", "in a cupboard or drawer"
    BOX = "box", "inside a box"
    WALL = "wall", "at an outside wall"
    PICTURE = "picture", "behind a picture or cupboard on an outside wall"
    WINDOW = "window", "at a window or in the sun"
    OUTDOORS = "outdoors", "outdoors, in the shade and out of the rain"


class Sensor(Record):
    """One thing that tells temperature and humidity in a room; what is read by hand has a sensor of its own."""

    KEEPERS_ROWS: ClassVar[bool] = True

    room = models.ForeignKey("archive.Box", on_delete=models.PROTECT, related_name="sensors")
    # The furniture, shelf or box of the room that it stands in, where that has an air of its own; else nothing.
    stands_in = models.ForeignKey(
        "archive.Box", null=True, blank=True, on_delete=models.PROTECT, related_name="own_sensors",
        verbose_name="stands in",
    )  # fmt: skip
    name = models.CharField(max_length=120)
    placement = models.CharField("where in the room", max_length=20, choices=Placement.choices, default=Placement.FREE)
    where = models.CharField("more exactly", max_length=200, blank=True)
    by_hand = models.BooleanField(default=False, editable=False)
    known_as = models.JSONField("its name in files", default=list, blank=True)
    retired_on = models.DateField("not in use since", null=True, blank=True)
    note = models.TextField("note", blank=True, max_length=20_000)

    history = history()
    objects = RecordQuerySet.as_manager()

    class Meta:
        ordering = ("retired_on", "name", "pk")

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("rooms:sensor", args=[self.public_id])


class ReadingImport(models.Model):
    """One file of readings, or one reading typed by hand: from being looked at to being taken back. No history."""

    class State(models.TextChoices):
        LOOKING = "looking", "being read"
        ASKED = "asked", "waiting for your answers"
        IMPORTING = "importing", "being imported"
        DONE = "done", "imported"
        STOPPED = "stopped", "stopped, nothing imported"
        REFUSED = "refused", "not readings"
        UNDONE = "undone", "taken back"

    OPEN: ClassVar[tuple[str, ...]] = ("looking", "asked", "importing")

    public_id = models.CharField(max_length=12, unique=True, default=new_public_id, editable=False)
    state = models.CharField(max_length=10, choices=State.choices, default=State.LOOKING, db_index=True)
    typed = models.BooleanField(default=False)
    file_name = models.CharField(max_length=255, blank=True)
    staged = models.CharField(max_length=80, blank=True)  # name of the file in `incoming` while it is needed
    size_bytes = models.PositiveBigIntegerField(default=0)
    created_at = models.DateTimeField(default=timezone.now)
    created_by = models.ForeignKey("archive.Account", null=True, on_delete=models.SET_NULL, related_name="+")
    done_at = models.DateTimeField(null=True, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)
    choices = models.JSONField(default=dict)  # what the keeper settled: day_first, unit, tz, columns
    understood = models.JSONField(default=dict)  # what the file was understood to be; emptied once it is imported
    assigned = models.JSONField(default=dict)  # name of a sensor in the file → address of the sensor, "" leaves it out
    errand = models.CharField(max_length=12, blank=True)
    rows = models.PositiveIntegerField(default=0)
    added = models.PositiveIntegerField(default=0)
    changed = models.PositiveIntegerField(default=0)  # readings of the same second that were something else before
    same = models.PositiveIntegerField(default=0)
    refused_count = models.PositiveIntegerField(default=0)
    refused = models.JSONField(default=list)  # line and reason; the first few hundred
    overwritten = models.JSONField(default=list)  # moment, what stood there, what stands now; the first hundred
    notes = models.JSONField(default=list)

    class Meta:
        ordering = ("-created_at", "-pk")

    def __str__(self) -> str:
        return self.file_name or "typed by hand"


class ImportedSeries(models.Model):
    """What one import holds of one sensor, packed: the store is all of these laid over one another, later on top."""

    BELONGS_TO: ClassVar[str] = "sensor"

    source = models.ForeignKey(ReadingImport, on_delete=models.CASCADE, related_name="series")
    sensor = models.ForeignKey(Sensor, on_delete=models.PROTECT, related_name="series")
    first_s = models.BigIntegerField()
    last_s = models.BigIntegerField()
    rows = models.PositiveIntegerField()
    packed = models.BinaryField()

    class Meta:
        ordering = ("source", "pk")
        indexes = [models.Index(fields=["sensor", "first_s"], name="series_by_time")]


class SensorAir(models.Model):
    """What the readings of one sensor mean, worked out after an import and at upkeep; pages read this alone."""

    BELONGS_TO: ClassVar[str] = "sensor"

    sensor = models.OneToOneField(Sensor, on_delete=models.PROTECT, related_name="air")
    stale = models.BooleanField(default=True, db_index=True)  # readings came or went since it was worked out
    computed_at = models.DateTimeField(null=True, blank=True)
    zone = models.CharField(max_length=60, blank=True)  # the home's zone by whose days it was summed up
    recipe = models.PositiveSmallIntegerField(default=0)
    rows = models.PositiveIntegerField(default=0)
    first_s = models.BigIntegerField(null=True, blank=True)
    last_s = models.BigIntegerField(null=True, blank=True)
    answer = models.JSONField(default=dict)


register_subject(Subject("sensors", Sensor, "sensor", "rooms:sensor"))
