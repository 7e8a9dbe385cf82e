"""Sorting: first looks at boxes as found, lots that arrived together, groups that the keeper arranges."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse

from archive.access.records import Attached, Record, RecordQuerySet, history
from archive.access.subjects import Subject, register_subject
from archive.numbers import number_of
from archive.things.models import IssuedNumber, Standing

# Standings with which a thing is no longer here, and those that want a reason.
GONE = (Standing.PASSED_ON, Standing.LET_GO, Standing.RETURNED)
NEEDS_A_REASON = (*GONE, Standing.LOST)

_ONE_TO_FIVE = [MinValueValidator(1), MaxValueValidator(5)]


class FirstLook(Attached):
    """A box recorded as found, in five minutes, before its things."""

    BELONGS_TO: ClassVar[str] = "box"

    box = models.OneToOneField("archive.Box", on_delete=models.PROTECT, related_name="first_look")
    stood_where = models.CharField("where it stands, or stood", max_length=300, blank=True)
    # What was seen, smelt or feared: codes of archive/sorting/questions.toml.
    found = models.JSONField("what was noticed", default=list, blank=True)
    packed_by = models.ForeignKey(
        "archive.Person", null=True, blank=True, on_delete=models.PROTECT, related_name="boxes_packed",
        verbose_name="who packed it",
    )  # fmt: skip
    packed_by_text = models.CharField("who packed it", max_length=300, blank=True)
    could_tell = models.CharField("who could tell us about it", max_length=300, blank=True)
    urgency = models.PositiveSmallIntegerField("how pressing", default=1, validators=_ONE_TO_FIVE)
    interest = models.PositiveSmallIntegerField("how interesting", default=3, validators=_ONE_TO_FIVE)
    stays_whole = models.BooleanField("stays described as a whole", default=False)
    things_done = models.BooleanField("its things are recorded", default=False)
    note = models.TextField("note", blank=True, max_length=20_000)

    history = history()

    class Meta:
        verbose_name = "first look"

    def __str__(self) -> str:
        return f"first look at {self.box}"


class Lot(Record):
    """What arrived together, in its first order. Frozen once accepted."""

    serial = models.OneToOneField(
        IssuedNumber, on_delete=models.PROTECT, related_name="lot", editable=False, verbose_name="number"
    )
    title = models.CharField("name", max_length=300)
    from_whom = models.ForeignKey(
        "archive.Person", null=True, blank=True, on_delete=models.PROTECT, related_name="lots_given",
        verbose_name="whose it was",
    )  # fmt: skip
    from_whom_text = models.CharField("whose it was", max_length=300, blank=True)
    from_where = models.ForeignKey(
        "archive.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="lots_from",
        verbose_name="where it came from",
    )  # fmt: skip
    arrived_text = models.CharField("when it came", max_length=200, blank=True)
    arrived_edtf = models.CharField("when it came (as read)", max_length=200, blank=True, editable=False)
    arrived_earliest = models.CharField(max_length=12, blank=True, editable=False)
    arrived_latest = models.CharField(max_length=12, blank=True, editable=False)
    found_in = models.CharField("found in", max_length=300, blank=True)
    found_with = models.CharField("found with", max_length=300, blank=True)
    position_note = models.TextField("how it lay: order, layers, bundles", blank=True, max_length=20_000)
    wrapper_text = models.TextField("what stood on wrappers and labels", blank=True, max_length=20_000)
    accepted_at = models.DateTimeField("accepted", null=True, blank=True, editable=False)
    quarantine_until = models.DateField("kept apart, look again on", null=True, blank=True)
    quarantine_why = models.CharField("why it is kept apart", max_length=300, blank=True)
    note = models.TextField("note", blank=True, max_length=20_000)

    history = history()
    objects = RecordQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.number} {self.title}"

    def get_absolute_url(self) -> str:
        return reverse("sorting:lot", args=[self.public_id])

    @property
    def number(self) -> str:
        return number_of(self.serial_id)


class Group(Record):
    """What the keeper arranges together: a person, an event, a kind, a trip."""

    class Sort(models.TextChoices):
        PERSON = "person", "a person"
        EVENT = "event", "an event"
        KIND = "kind", "a kind of thing"
        TRIP = "trip", "a trip"
        OTHER = "other", "something else"

    title = models.CharField("name", max_length=300)
    sort = models.CharField("what holds it together", max_length=10, choices=Sort.choices, default=Sort.OTHER)
    note = models.TextField("note", blank=True, max_length=20_000)

    history = history()
    objects = RecordQuerySet.as_manager()

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("sorting:group", args=[self.public_id])


class GroupThing(Attached):
    """A thing is in a group, at its place in the order."""

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("group", "thing")

    group = models.ForeignKey(Group, on_delete=models.PROTECT, related_name="thing_rows")
    thing = models.ForeignKey("archive.Thing", on_delete=models.PROTECT, related_name="group_rows")
    position = models.PositiveIntegerField("order", default=0)

    history = history()

    class Meta:
        verbose_name = "place in a group"
        ordering = ("position", "pk")
        constraints = [models.UniqueConstraint(fields=["group", "thing"], name="a_thing_once_in_a_group")]

    def __str__(self) -> str:
        return str(self.group)


class RefusedProposal(models.Model):
    """A proposed group that the keeper refused, so that it is not proposed again. ``key`` names its reason."""

    key = models.CharField(max_length=200, unique=True)
    at = models.DateTimeField(auto_now_add=True)


def _lot_files(lot: Any) -> list[str]:
    return list(lot.pictures.values_list("sha256", flat=True))


register_subject(Subject("lots", Lot, "lot", "sorting:lot", files=_lot_files))
register_subject(Subject("groups", Group, "group", "sorting:group"))
