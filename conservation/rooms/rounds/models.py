"""Rounds through the house, room by room, and what was found on them."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.urls import reverse
from django.utils import timezone

from archive.access.records import Attached, history


class Answer(models.TextChoices):
    """What somebody says of one check in one room."""

    FINE = "fine", "Fine"
    FOUND = "found", "Something found"
    NOT_LOOKED = "not-looked", "Not looked"


class Gravity(models.TextChoices):
    """How bad a finding is."""

    LITTLE = "little", "a little, and it looks old"
    CLEAR = "clear", "clearly there"
    URGENT = "urgent", "much, fresh or spreading"


class Round(Attached):
    """One walk with its check lists; it can be left and gone on with."""

    began_on = models.DateField("began on", default=timezone.localdate)
    finished_at = models.DateTimeField("finished", null=True, blank=True)
    note = models.TextField("note", blank=True, max_length=20_000)

    history = history()

    class Meta:
        verbose_name = "round"
        ordering = ("-began_on", "-pk")

    def __str__(self) -> str:
        return f"round of {self.began_on.day} {self.began_on:%B %Y}"

    def get_absolute_url(self) -> str:
        return reverse("rooms:round", args=[self.public_id])


class RoundRoom(Attached):
    """One room of a round: the checks on its list as the round began, and what was said of each."""

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[tuple[str, ...]] = ("round", "box")

    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="rooms")
    box = models.ForeignKey("archive.Box", on_delete=models.PROTECT, related_name="round_rooms", verbose_name="room")
    checks = models.JSONField("what is looked at", default=list)  # codes of rounds.toml, in their order
    answers = models.JSONField("what was said", default=dict, blank=True)  # code → Answer
    answered_on = models.DateField("looked at on", null=True, blank=True, db_index=True)

    history = history()

    class Meta:
        verbose_name = "room of a round"
        ordering = ("pk",)
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["round", "box"], name="a_room_once_in_a_round")
        ]

    def __str__(self) -> str:
        return f"{self.box} in the {self.round}"

    def open_checks(self) -> list[str]:
        """Return the checks that nobody has said anything of yet."""
        return [code for code in self.checks if code not in self.answers]


class Finding(Attached):
    """Something found: where, on which check, how bad, and once it is closed what was done."""

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[str] = "room"

    room = models.ForeignKey("archive.Box", on_delete=models.PROTECT, related_name="findings")
    box = models.ForeignKey(
        "archive.Box", null=True, blank=True, on_delete=models.PROTECT, related_name="findings_in",
        verbose_name="in or on",
    )  # fmt: skip
    round = models.ForeignKey(Round, null=True, blank=True, on_delete=models.PROTECT, related_name="findings")
    check_code = models.CharField("what was looked at", max_length=30)
    gravity = models.CharField("how bad", max_length=10, choices=Gravity.choices, default=Gravity.CLEAR)
    words = models.TextField("what you saw", blank=True, max_length=20_000)
    found_on = models.DateField("found on", default=timezone.localdate)
    closed_on = models.DateField("closed on", null=True, blank=True, db_index=True)
    closed_how = models.CharField("what was done", max_length=1000, blank=True)

    history = history()
    name = ""  # of its check, in words; pages put it on

    class Meta:
        verbose_name = "finding"
        ordering = ("-found_on", "-pk")

    def __str__(self) -> str:
        return f"finding of {self.found_on.day} {self.found_on:%B %Y}"

    def get_absolute_url(self) -> str:
        return reverse("rooms:finding", args=[self.public_id])


class FindingThing(Attached):
    """A thing on which something was found."""

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[tuple[str, ...]] = ("finding", "thing")

    finding = models.ForeignKey(Finding, on_delete=models.PROTECT, related_name="things")
    thing = models.ForeignKey("archive.Thing", on_delete=models.PROTECT, related_name="findings")

    history = history()

    class Meta:
        verbose_name = "finding on a thing"
        ordering = ("pk",)
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["finding", "thing"], name="a_thing_once_in_a_finding")
        ]

    def __str__(self) -> str:
        return str(self.finding)


class FindingPicture(Attached):
    """A picture that shows a finding; the picture itself belongs to the room or box, and taking it off ends this."""

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[tuple[str, ...]] = ("finding", "picture")

    finding = models.ForeignKey(Finding, on_delete=models.PROTECT, related_name="pictures")
    picture: Any = models.ForeignKey("archive.Picture", on_delete=models.CASCADE, related_name="finding_pictures")

    history = history()

    class Meta:
        verbose_name = "picture of a finding"
        ordering = ("pk",)

    def __str__(self) -> str:
        return str(self.finding)
