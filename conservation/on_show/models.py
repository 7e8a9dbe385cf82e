"""Where things are shown, what light they get there, what was and what will be shown, and the days that matter."""

from __future__ import annotations

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from django.utils import timezone

from archive.access.records import Attached, Record, RecordQuerySet, history
from archive.access.subjects import Subject, register_subject

_SIDE = [MinValueValidator(1), MaxValueValidator(20_000)]
_LUX = [MinValueValidator(0), MaxValueValidator(200_000)]
_HOURS = [MinValueValidator(0), MaxValueValidator(24)]
_MOST_LXH = 10_000_000_000


class Spot(Record):
    """A place where things are shown, with its size, its light and what is near it."""

    title = models.CharField("name", max_length=300)
    room = models.ForeignKey(
        "archive.Box", null=True, blank=True, on_delete=models.PROTECT, related_name="spots", verbose_name="room"
    )
    form = models.CharField("what it is", max_length=30)  # a code of data/spots.toml: wall, shelf, cabinet …
    width_mm = models.FloatField("width (mm)", null=True, blank=True, validators=_SIDE)
    height_mm = models.FloatField("height (mm)", null=True, blank=True, validators=_SIDE)
    depth_mm = models.FloatField("depth (mm)", null=True, blank=True, validators=_SIDE)
    capacity = models.PositiveSmallIntegerField(
        "how many things at once", default=1, validators=[MinValueValidator(1), MaxValueValidator(50)]
    )
    hours_per_day = models.FloatField("hours of light a day", null=True, blank=True, validators=_HOURS)
    # The short questionnaire, by codes of data/spots.toml; an empty answer means it was not asked.
    window_direction = models.CharField("which way the window looks", max_length=20, blank=True)
    window_distance = models.CharField("how far from the window", max_length=20, blank=True)
    curtain = models.CharField("curtain or blind", max_length=20, blank=True)
    sun_reaches = models.CharField("does the sun reach it", max_length=20, blank=True)
    lamp = models.CharField("lamp", max_length=20, blank=True)
    lamp_hours = models.FloatField("hours a day the lamp is on", null=True, blank=True, validators=_HOURS)
    glazing = models.CharField("what is in front of it", max_length=20, blank=True)
    near = models.JSONField("what is near", default=list, blank=True)  # codes: kitchen, fireplace, outside-wall …
    materials = models.JSONField("what it is made of", default=list, blank=True)  # codes of `furniture`, and more
    in_use = models.BooleanField("in use", default=True)
    note = models.TextField("note", blank=True, max_length=20_000)

    history = history()
    objects = RecordQuerySet.as_manager()

    class Meta:
        ordering = ("title", "pk")

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("on_show:spot", args=[self.public_id])


class LuxReading(Attached):
    """How bright it was at a spot once: with a meter, with a phone, or read off a lamp's box."""

    BELONGS_TO: ClassVar[str] = "spot"

    spot = models.ForeignKey(Spot, on_delete=models.PROTECT, related_name="lux_readings")
    taken_at = models.DateTimeField("taken", default=timezone.now)
    lux = models.FloatField("lux", validators=_LUX)
    uv_uw_lm = models.FloatField(
        "UV (µW/lm)", null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(100_000)]
    )
    by_what = models.CharField("read with", max_length=20)  # meter, phone
    sky = models.CharField("sky or lamp", max_length=20, blank=True)  # sun, cloud, night
    note = models.CharField("note", max_length=300, blank=True)

    history = history()

    class Meta:
        verbose_name = "light reading"
        ordering = ("-taken_at", "-pk")

    def __str__(self) -> str:
        return f"{self.lux:g} lux"


class ThingLight(Attached):
    """What the keeper says of a thing on show, where it differs from what its kind says; empty means: by its kind."""

    BELONGS_TO: ClassVar[str] = "thing"

    thing = models.OneToOneField("archive.Thing", on_delete=models.PROTECT, related_name="light")
    blue_wool = models.PositiveSmallIntegerField(
        "blue wool", null=True, blank=True, validators=[MaxValueValidator(8)]
    )  # 0: light does no harm
    years_per_fade = models.PositiveIntegerField(
        "years to one just noticeable fade", null=True, blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(10_000)],
    )  # fmt: skip
    why = models.CharField("why so", max_length=300, blank=True)
    may_be_shown = models.CharField("may it be shown", max_length=20, default="plan")  # plan, copy-only, unfixed, never
    width_mm = models.FloatField("width as shown (mm)", null=True, blank=True, validators=_SIDE)
    height_mm = models.FloatField("height as shown (mm)", null=True, blank=True, validators=_SIDE)
    min_weeks = models.PositiveSmallIntegerField("shortest showing (weeks)", null=True, blank=True)
    max_weeks = models.PositiveSmallIntegerField("longest showing (weeks)", null=True, blank=True)
    rest_weeks = models.PositiveSmallIntegerField("rest between showings (weeks)", null=True, blank=True)
    wish = models.PositiveSmallIntegerField(
        "how gladly you would see it, 1 to 5", null=True, blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(5)],
    )  # fmt: skip

    history = history()

    class Meta:
        verbose_name = "light of a thing"

    def __str__(self) -> str:
        return f"light of {self.thing}"


class BarredSpot(Attached):
    """A thing is not to be shown at a spot, and why."""

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("thing", "spot")

    thing = models.ForeignKey("archive.Thing", on_delete=models.PROTECT, related_name="barred_spots")
    spot = models.ForeignKey(Spot, on_delete=models.PROTECT, related_name="barred_things")
    why = models.CharField("why not", max_length=300, blank=True)

    history = history()

    class Meta:
        verbose_name = "barred spot"
        constraints = [models.UniqueConstraint(fields=["thing", "spot"], name="one_bar_per_thing_and_spot")]

    def __str__(self) -> str:
        return f"{self.thing} not at {self.spot}"


class Showing(Attached):
    """A thing that was, or is, at a spot. Recorded when it goes up; its light is set down when it comes down.

    It belongs to its thing alone: a spot that has had things cannot be destroyed for good, or their light would go.
    """

    KEEPERS_COLUMNS: ClassVar[tuple[str, ...]] = ("note", "goes_back_to")
    BELONGS_TO: ClassVar[str] = "thing"

    thing = models.ForeignKey("archive.Thing", on_delete=models.PROTECT, related_name="showings")
    spot = models.ForeignKey(Spot, on_delete=models.PROTECT, related_name="showings")
    went_up = models.DateField("went up", default=timezone.localdate)
    came_down = models.DateField("came down", null=True, blank=True)
    is_copy = models.BooleanField("a copy, the original rests", default=False)
    # Light as it was believed to be at the time, so that a later reading does not change what is past.
    lux = models.FloatField("lux", null=True, blank=True, validators=_LUX)
    hours_per_day = models.FloatField("hours a day", null=True, blank=True, validators=_HOURS)
    uv_filtered = models.BooleanField("without UV", default=False)
    lxh = models.FloatField("lux hours in all", null=True, blank=True)
    goes_back_to = models.ForeignKey(
        "archive.Box", null=True, blank=True, on_delete=models.PROTECT, related_name="showings_resting",
        verbose_name="rests in",
    )  # fmt: skip
    note = models.CharField("note", max_length=300, blank=True)

    history = history()

    class Meta:
        ordering = ("-went_up", "-pk")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(came_down__isnull=True) | models.Q(came_down__gte=models.F("went_up")),
                name="a_showing_ends_after_it_began",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.thing} at {self.spot}"


class LightUse(Attached):
    """Light that a thing got otherwise than on show: digitising, study, or on a wall before this record began."""

    KEEPERS_COLUMNS: ClassVar[tuple[str, ...]] = ("words",)
    BELONGS_TO: ClassVar[str] = "thing"

    thing = models.ForeignKey("archive.Thing", on_delete=models.PROTECT, related_name="light_uses")
    day = models.DateField("day", default=timezone.localdate)
    what = models.CharField("what for", max_length=20)  # digitising, study, before
    lxh = models.FloatField("lux hours", validators=[MinValueValidator(0), MaxValueValidator(_MOST_LXH)])
    words = models.CharField("note", max_length=300, blank=True)

    history = history()

    class Meta:
        verbose_name = "light used"
        ordering = ("-day", "-pk")

    def __str__(self) -> str:
        return f"{self.lxh:g} lux hours"


class ShowPolicy(models.Model):
    """What the keeper chose for everything on show; there is one row, with id 1."""

    years_per_fade = models.PositiveIntegerField(
        "years to one just noticeable fade", default=50, validators=[MinValueValidator(1), MaxValueValidator(10_000)]
    )
    strict_uv = models.BooleanField("take 10 instead of 75 µW/lm as free of UV", default=False)

    def __str__(self) -> str:
        return f"one fade in {self.years_per_fade} years"


class OwnOccasion(Record):
    """A day that matters to the family and that the catalogue does not know by itself."""

    title = models.CharField("what day it is", max_length=300)
    day = models.DateField("day")
    yearly = models.BooleanField("comes every year", default=True)
    weight = models.PositiveSmallIntegerField(
        "how much it matters, 1 to 3", default=2, validators=[MinValueValidator(1), MaxValueValidator(3)]
    )
    note = models.CharField("note", max_length=300, blank=True)

    history = history()
    objects = RecordQuerySet.as_manager()

    class Meta:
        verbose_name = "own occasion"
        ordering = ("day", "pk")

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("on_show:occasions")


class OccasionThing(Attached):
    """A thing that would be right for an occasion that the keeper added."""

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("occasion", "thing")

    occasion = models.ForeignKey(OwnOccasion, on_delete=models.PROTECT, related_name="things")
    thing = models.ForeignKey("archive.Thing", on_delete=models.PROTECT, related_name="own_occasions")

    history = history()

    class Meta:
        verbose_name = "thing for an occasion"
        constraints = [models.UniqueConstraint(fields=["occasion", "thing"], name="one_link_per_occasion_and_thing")]

    def __str__(self) -> str:
        return f"{self.thing} for {self.occasion}"


class OccasionChoice(Attached):
    """What the keeper made of a day that the catalogue knows: not counted, or of another weight.

    ``key`` names the day by the address of the record that has its date, such as ``birthday:…``.
    """

    key = models.CharField(max_length=40, unique=True)
    counts = models.BooleanField("counts as an occasion", default=True)
    weight = models.PositiveSmallIntegerField(
        "how much it matters, 1 to 3", null=True, blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(3)],
    )  # fmt: skip

    history = history()

    class Meta:
        verbose_name = "choice on an occasion"

    def __str__(self) -> str:
        return self.key


class DisplayPlan(Record):
    """A year of showings: what was asked, what was worked out, what the keeper made of it."""

    KEEPERS_ROWS: ClassVar[bool] = True

    title = models.CharField("name", max_length=300)
    starts_on = models.DateField("first Monday")
    weeks = models.PositiveSmallIntegerField(
        "weeks", default=52, validators=[MinValueValidator(1), MaxValueValidator(104)]
    )
    changeovers = models.PositiveSmallIntegerField(
        "days of change in it", default=6, validators=[MinValueValidator(1), MaxValueValidator(52)]
    )
    seconds = models.PositiveSmallIntegerField(
        "seconds for working it out", default=20, validators=[MinValueValidator(2), MaxValueValidator(600)]
    )
    left_out = models.JSONField("things left out of it", default=list, blank=True)  # addresses of things
    change_weeks = models.JSONField("weeks at whose start things change", default=list, blank=True)
    problem = models.JSONField("as it was asked", default=dict, blank=True, editable=False)
    answer = models.JSONField("as it was answered", default=dict, blank=True, editable=False)
    accepted_at = models.DateTimeField("accepted", null=True, blank=True, editable=False)
    note = models.TextField("note", blank=True, max_length=20_000)

    history = history()
    objects = RecordQuerySet.as_manager()

    class Meta:
        verbose_name = "plan"
        ordering = ("-starts_on", "-pk")

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("on_show:plan", args=[self.public_id])


class PlannedShowing(Attached):
    """One showing of a plan; ticked when it went up and when it came down."""

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[tuple[str, ...]] = ("plan", "thing")

    plan = models.ForeignKey(DisplayPlan, on_delete=models.PROTECT, related_name="showings")
    thing = models.ForeignKey("archive.Thing", on_delete=models.PROTECT, related_name="planned_showings")
    spot = models.ForeignKey(Spot, on_delete=models.PROTECT, related_name="planned_showings")
    from_week = models.PositiveSmallIntegerField("from week")
    weeks = models.PositiveSmallIntegerField("weeks", validators=[MinValueValidator(1)])
    pinned = models.BooleanField("pinned by hand", default=False)
    is_copy = models.BooleanField("a copy, the original rests", default=False)
    # What happened may stand in several plans, where a new one begins before the old one ends.
    showing = models.ForeignKey(
        Showing, null=True, blank=True, on_delete=models.PROTECT, related_name="planned", verbose_name="as it happened"
    )

    history = history()

    class Meta:
        verbose_name = "planned showing"
        ordering = ("from_week", "spot_id", "pk")

    def __str__(self) -> str:
        return f"{self.thing} at {self.spot} from week {self.from_week}"


register_subject(Subject("spots", Spot, "spot", "on_show:spot"))
register_subject(Subject("occasions", OwnOccasion, "occasion", "on_show:occasion"))
register_subject(Subject("plans", DisplayPlan, "plan", "on_show:plan"))
