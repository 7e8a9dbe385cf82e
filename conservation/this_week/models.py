"""What the keeper says of jobs: put off, begun, done and how long it took; jobs of their own; the calendar."""

from __future__ import annotations

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from archive.access.records import Attached, history

MOST_MINUTES = 600
_MINUTES = [MinValueValidator(1), MaxValueValidator(MOST_MINUTES)]


class PutOff(Attached):
    """A job is not shown until a day."""

    key = models.CharField("job", max_length=200, unique=True)  # as the job's subject names it
    words = models.CharField("what was to be done", max_length=300)
    until = models.DateField("comes back on")
    reason = models.CharField("why", max_length=300, blank=True)

    history = history()

    class Meta:
        verbose_name = "job put off"
        ordering = ("until", "pk")

    def __str__(self) -> str:
        return self.words


class Work(Attached):
    """A job that was begun, and done, and how long it took."""

    key = models.CharField("job", max_length=200, db_index=True)
    sort = models.CharField("kind of job", max_length=60, blank=True)
    words = models.CharField("what was to be done", max_length=300)
    url = models.CharField("where", max_length=500, blank=True)
    expected = models.PositiveSmallIntegerField("minutes expected by our figures", validators=_MINUTES)
    began_at = models.DateTimeField("began", null=True, blank=True)
    done_on = models.DateField("done on", null=True, blank=True)
    minutes = models.PositiveSmallIntegerField("minutes it took", null=True, blank=True, validators=_MINUTES)

    history = history()

    class Meta:
        verbose_name = "job done"
        ordering = ("-pk",)
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["-id"], name="work_in_hand", condition=Q(done_on__isnull=True)),
        ]

    def __str__(self) -> str:
        return self.words


class OwnJob(Attached):
    """Something the keeper wants to do, once or again and again."""

    class Tier(models.IntegerChoices):
        DANGER = 1, "somebody could be hurt"
        CLOCK = 2, "it gets worse while it waits"
        ASK = 3, "somebody can still tell us, now"
        REST = 4, "none of these"

    class Repeat(models.TextChoices):
        NEVER = "", "once"
        DAY = "day", "days"
        WEEK = "week", "weeks"
        MONTH = "month", "months"
        YEAR = "year", "years"

    words = models.CharField("what is to be done", max_length=300)
    first = models.CharField("what the first ten minutes are", max_length=300, blank=True)
    minutes = models.PositiveSmallIntegerField("about how many minutes", default=15, validators=_MINUTES)
    tier = models.PositiveSmallIntegerField("why it presses", choices=Tier.choices, default=Tier.REST)
    matters = models.PositiveSmallIntegerField(
        "how much it matters, 1 to 5", null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(5)]
    )
    due = models.DateField("by when", null=True, blank=True)
    starts = models.DateField("first day of the rule", null=True, blank=True, editable=False)
    repeat = models.CharField("comes back every so many", max_length=5, choices=Repeat.choices, blank=True)
    every = models.PositiveSmallIntegerField(
        "how many", default=1, validators=[MinValueValidator(1), MaxValueValidator(99)]
    )
    from_done = models.BooleanField("counted from the day it was done", default=False)
    until = models.DateField("comes back no more after", null=True, blank=True)
    ended_on = models.DateField("ended", null=True, blank=True)

    history = history()

    class Meta:
        verbose_name = "job of one’s own"
        ordering = ("due", "pk")

    def __str__(self) -> str:
        return self.words

    @property
    def key(self) -> str:
        """The name of the job for good."""
        return f"own/{self.public_id}"


class WeekCalendar(Attached):
    """Whether a calendar may read what is due, and how much it is told; there is one row."""

    class Says(models.TextChoices):
        NOTHING = "nothing", "only that there is something to do, and how long it takes"
        OWN = "own", "the words of my own jobs; of the others only that there is something to do"
        ALL = "all", "the words of all jobs, with names and titles"

    is_open = models.BooleanField("calendars may read it", default=False)
    turn = models.PositiveIntegerField("how often the address was changed", default=1)
    says = models.CharField("what it says", max_length=7, choices=Says.choices, default=Says.NOTHING)

    history = history()

    class Meta:
        verbose_name = "calendar"

    def __str__(self) -> str:
        return "calendar"
