"""Stories: something told about things, people, places, a date. Plain text with paragraphs."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.urls import reverse

from archive.access.models import Account
from archive.access.records import Attached, Record, RecordQuerySet, history
from archive.access.subjects import Subject, register_subject


class Story(Record):
    """One story, with who told it, when it was told and of what time it tells."""

    title = models.CharField("title", max_length=300)
    body = models.TextField("the story", max_length=200_000)
    teller = models.ForeignKey(
        "archive.Person", null=True, blank=True, on_delete=models.PROTECT, related_name="told", verbose_name="told by"
    )
    teller_text = models.CharField("told by", max_length=300, blank=True)
    written_by = models.ForeignKey(
        Account, null=True, blank=True, on_delete=models.PROTECT, related_name="+", verbose_name="written down by"
    )
    told_text = models.CharField("told on", max_length=200, blank=True)
    told_edtf = models.CharField("told on (as read)", max_length=200, blank=True, editable=False)
    told_earliest = models.CharField(max_length=12, blank=True, editable=False)
    told_latest = models.CharField(max_length=12, blank=True, editable=False)
    about_text = models.CharField("the time it tells of", max_length=200, blank=True)
    about_edtf = models.CharField("the time it tells of (as read)", max_length=200, blank=True, editable=False)
    about_earliest = models.CharField(max_length=12, blank=True, editable=False)
    about_latest = models.CharField(max_length=12, blank=True, editable=False)
    seen_by_keeper = models.BooleanField("the keeper has read it", default=False, editable=False)

    history = history()
    objects = RecordQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "stories"
        indexes: ClassVar[list[models.Index]] = [
            # All that a list asks of every story, so that it need not read their texts.
            models.Index(
                fields=["-created_at", "-id", "access", "withdrawn_at", "teller", "teller_text"], name="stories_latest"
            ),
            models.Index(fields=["created_at"], name="stories_to_read", condition=Q(seen_by_keeper=False)),
            models.Index(fields=["about_earliest", "about_latest", "access", "withdrawn_at"], name="stories_by_time"),
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("stories:page", args=[self.public_id])


class StoryThing(Attached):
    """A story tells of a thing."""

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("story", "thing")

    story = models.ForeignKey(Story, on_delete=models.PROTECT, related_name="thing_rows")
    thing = models.ForeignKey("archive.Thing", on_delete=models.PROTECT, related_name="story_rows")

    history = history()

    class Meta:
        verbose_name = "link between story and thing"
        constraints = [models.UniqueConstraint(fields=["story", "thing"], name="a_story_of_a_thing_once")]

    def __str__(self) -> str:
        return str(self.story)


class StoryPerson(Attached):
    """A story tells of somebody."""

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("story", "person")

    story = models.ForeignKey(Story, on_delete=models.PROTECT, related_name="person_rows")
    person = models.ForeignKey("archive.Person", on_delete=models.PROTECT, related_name="story_rows")

    history = history()

    class Meta:
        verbose_name = "link between story and person"
        constraints = [models.UniqueConstraint(fields=["story", "person"], name="a_story_of_a_person_once")]

    def __str__(self) -> str:
        return str(self.story)


class StoryPlace(Attached):
    """A story tells of a place."""

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("story", "place")

    story = models.ForeignKey(Story, on_delete=models.PROTECT, related_name="place_rows")
    place = models.ForeignKey("archive.Place", on_delete=models.PROTECT, related_name="story_rows")

    history = history()

    class Meta:
        verbose_name = "link between story and place"
        constraints = [models.UniqueConstraint(fields=["story", "place"], name="a_story_of_a_place_once")]

    def __str__(self) -> str:
        return str(self.story)


def _files(story: Any) -> list[str]:
    return list(story.pictures.values_list("sha256", flat=True))


register_subject(Subject("stories", Story, "story", "stories:page", files=_files))
