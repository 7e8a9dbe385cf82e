"""Pictures of things: the original is in the media store, kept byte for byte."""

from __future__ import annotations

from typing import Any, ClassVar, Self

from django.db import models
from django.utils import timezone

from archive.access.models import Account
from archive.access.records import history, new_public_id
from archive.things.models import Thing


class View(models.TextChoices):
    """What a picture shows of its thing."""

    FRONT = "front", "front"
    BACK = "back", "back"
    DETAIL = "detail", "detail"
    MARK = "mark", "mark or inscription"
    DAMAGE = "damage", "damage"
    WITH_SCALE = "with-scale", "with a scale beside it"


class PictureQuerySet(models.QuerySet["Picture"]):
    """Reads that obey the access of the thing shown."""

    def visible_to(self, user: Account | None) -> Self:
        """Return the pictures of things that this reader may see."""
        return self.filter(thing__in=Thing.objects.visible_to(user))


class Picture(models.Model):
    """One picture file of a thing."""

    BELONGS_TO: ClassVar[str] = "thing"

    public_id = models.CharField(max_length=12, unique=True, default=new_public_id, editable=False)
    thing = models.ForeignKey(Thing, on_delete=models.PROTECT, related_name="pictures")
    position = models.PositiveIntegerField("order", default=0)
    view = models.CharField("what it shows", max_length=12, choices=View.choices, default=View.FRONT)
    caption = models.CharField(max_length=300, blank=True)
    sha256 = models.CharField(max_length=64, db_index=True, editable=False)
    original_name = models.CharField("name of the file", max_length=255, editable=False)
    mime = models.CharField("type of file", max_length=60, editable=False)
    width = models.PositiveIntegerField(editable=False)
    height = models.PositiveIntegerField(editable=False)
    taken_text = models.CharField("date in the camera's note", max_length=40, blank=True, editable=False)
    fingerprint = models.CharField(max_length=16, blank=True, editable=False, db_index=True)
    version = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    changed_at = models.DateTimeField(default=timezone.now, editable=False)

    history = history()
    objects: Any = PictureQuerySet.as_manager()

    class Meta:
        ordering = ("position", "pk")

    def __str__(self) -> str:
        return self.caption or self.get_view_display()

    @property
    def alt(self) -> str:
        """What a reader who cannot see the picture is told."""
        return f"{self.get_view_display().capitalize()}: {self.caption or self.thing.title}"
