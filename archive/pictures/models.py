"""Pictures of things, boxes, stories and lots: the original is in the media store, kept byte for byte."""

from __future__ import annotations

from datetime import date
from typing import Any, ClassVar, Self

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from archive.access.models import Account
from archive.access.records import Attached, history, new_public_id
from archive.pictures.decoding import day_taken
from archive.pictures.thumbnails import SIZES
from archive.things.models import Thing


class View(models.TextChoices):
    """What a picture shows of its thing."""

    FRONT = "front", "front"
    BACK = "back", "back"
    DETAIL = "detail", "detail"
    MARK = "mark", "mark or inscription"
    DAMAGE = "damage", "damage"
    WITH_SCALE = "with-scale", "with a scale beside it"
    OUTSIDE = "outside", "outside, closed"
    LID = "lid", "lid, opened"
    LAYER = "layer", "a layer inside"
    WRAPPER = "wrapper", "wrapper or label it came in"
    AS_FOUND = "as-found", "as it was found"


# What a picture can belong to: the foreign keys of `Picture`, of which exactly one is set.
OWNERS = ("thing", "box", "story", "lot")


def _exactly_one() -> Q:
    """Return the condition that a picture belongs to one record and no more."""
    found = Q()
    for owner in OWNERS:
        found |= Q(**{f"{each}__isnull": each != owner for each in OWNERS})
    return found


class PictureQuerySet(models.QuerySet["Picture"]):
    """Reads that obey the access of what is shown."""

    def visible_to(self, user: Account | None) -> Self:
        """Return the pictures of things, boxes, stories and lots that this reader may see."""
        may_see = Q()
        for owner in OWNERS:
            model: Any = Picture._meta.get_field(owner).related_model
            may_see |= Q(**{f"{owner}__in": model.objects.visible_to(user)})
        return self.filter(may_see)


class Picture(models.Model):
    """One picture file of a thing, a box, a story or a lot; of a PDF, one page."""

    BELONGS_TO: ClassVar[tuple[str, ...]] = OWNERS

    public_id = models.CharField(max_length=12, unique=True, default=new_public_id, editable=False)
    thing = models.ForeignKey(Thing, null=True, blank=True, on_delete=models.PROTECT, related_name="pictures")
    box = models.ForeignKey("archive.Box", null=True, blank=True, on_delete=models.PROTECT, related_name="pictures")
    story = models.ForeignKey("archive.Story", null=True, blank=True, on_delete=models.PROTECT, related_name="pictures")
    lot = models.ForeignKey("archive.Lot", null=True, blank=True, on_delete=models.PROTECT, related_name="pictures")
    piece = models.ForeignKey("archive.Piece", null=True, blank=True, on_delete=models.PROTECT, related_name="pictures")
    page = models.PositiveIntegerField("page of the file", default=0, editable=False)
    frames = models.PositiveIntegerField("pictures or pages in the file", default=1, editable=False)
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
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=_exactly_one(), name="a_picture_has_one_owner")
        ]

    def __str__(self) -> str:
        return self.caption or self.get_view_display()

    @property
    def owner(self) -> Any:
        """Return the record that the picture belongs to."""
        return next(getattr(self, name) for name in OWNERS if getattr(self, f"{name}_id") is not None)

    @property
    def alt(self) -> str:
        """What a reader who cannot see the picture is told."""
        shows = f"Page {self.page}" if self.page else self.get_view_display().capitalize()
        return f"{shows}: {self.caption or self.owner.title}"

    @property
    def is_pdf(self) -> bool:
        """Say whether the file is a PDF, of which this is a page."""
        return self.page > 0

    @property
    def day_taken(self) -> date | None:
        """Return the day in the camera's note, where it is one."""
        return day_taken(self.taken_text)

    def within(self, size: int) -> tuple[int, int]:
        """Return width and height in pixels of a size whose long side is at most `size`; nothing is blown up."""
        longest = max(self.width, self.height, 1)
        if longest <= size:
            return self.width, self.height
        return max(1, round(self.width * size / longest)), max(1, round(self.height * size / longest))

    @property
    def src(self) -> str:
        """The address of the middle size, for browsers that choose none themselves."""
        return reverse("pictures:size", args=[self.public_id, 640])

    @property
    def srcset(self) -> str:
        """The addresses of all sizes with their true widths, for the browser to choose from."""
        start = reverse("pictures:size", args=[self.public_id, SIZES[0]]).removesuffix(f"{SIZES[0]}/")
        widths = {self.within(size)[0]: size for size in reversed(SIZES)}
        return ", ".join(f"{start}{size}/ {width}w" for width, size in sorted(widths.items()))


class PersonMark(Attached):
    """Where somebody is in a picture: a rectangle in ten-thousandths of width and height, or nowhere in particular."""

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("picture", "person")

    picture = models.ForeignKey(Picture, on_delete=models.PROTECT, related_name="marks")
    person = models.ForeignKey("archive.Person", on_delete=models.PROTECT, related_name="marks")
    left = models.PositiveIntegerField(null=True, blank=True)
    top = models.PositiveIntegerField(null=True, blank=True)
    width = models.PositiveIntegerField(null=True, blank=True)
    height = models.PositiveIntegerField(null=True, blank=True)
    sure = models.BooleanField("certain", default=True)

    history = history()

    class Meta:
        verbose_name = "person in a picture"
        ordering = ("left", "pk")

    def __str__(self) -> str:
        return str(self.person)


class Likeness(models.Model):
    """Two pictures that look alike, found when the newer came in; ``settled_at`` once the keeper wants both.

    It is found again from the fingerprints, so it has no history and goes with either picture.
    """

    picture = models.ForeignKey(Picture, on_delete=models.CASCADE, related_name="likenesses")
    other = models.ForeignKey(Picture, on_delete=models.CASCADE, related_name="later_likenesses")
    bits = models.PositiveSmallIntegerField("places in which the fingerprints differ")
    settled_at = models.DateTimeField(null=True, db_index=True)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["picture", "other"], name="a_likeness_once")
        ]

    def __str__(self) -> str:
        return f"{self.picture} looks like {self.other}"
