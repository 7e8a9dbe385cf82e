"""What the keeper decided about where things and boxes should live: accepted, put off or refused moves."""

from __future__ import annotations

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from archive.access.records import Attached, history


class MoveDecision(Attached):
    """A move to a better place that was proposed, and the keeper's answer; the latest one on a box or thing holds.

    Whether it is done is not written here: it is done once the box or thing stands in the goal.
    """

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[tuple[str, ...]] = ("box", "thing", "goal")

    class Answer(models.TextChoices):
        ACCEPTED = "accepted", "to be done"
        LATER = "later", "not now"
        REFUSED = "refused", "no"

    box = models.ForeignKey(
        "archive.Box", null=True, blank=True, on_delete=models.PROTECT, related_name="move_decisions"
    )
    thing = models.ForeignKey(
        "archive.Thing", null=True, blank=True, on_delete=models.PROTECT, related_name="move_decisions"
    )
    goal = models.ForeignKey(
        "archive.Box", null=True, blank=True, on_delete=models.PROTECT, related_name="moves_into", verbose_name="into"
    )
    answer = models.CharField("answer", max_length=10, choices=Answer.choices)
    until = models.DateField("not before", null=True, blank=True)
    minutes = models.PositiveSmallIntegerField(
        "minutes", default=15, validators=[MinValueValidator(1), MaxValueValidator(600)]
    )
    reason = models.CharField("why", max_length=300, blank=True)
    gain = models.CharField("what it gains", max_length=300, blank=True)  # in words, as it was when decided
    decided_on = models.DateField("decided on", default=timezone.localdate)

    history = history()

    class Meta:
        verbose_name = "move decided on"
        ordering = ("-decided_on", "-pk")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(box__isnull=True) ^ models.Q(thing__isnull=True), name="a_move_is_of_one_record"
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_answer_display()}: {self.box or self.thing}"
