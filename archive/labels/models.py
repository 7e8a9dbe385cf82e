"""What was printed when."""

from __future__ import annotations

from django.db import models
from django.utils import timezone

from archive.access.models import Account
from archive.numbers import number_of
from archive.things.models import IssuedNumber


class PrintedSheet(models.Model):
    """One making of labels: when, by whom, on which layout."""

    at = models.DateTimeField(default=timezone.now)
    who = models.ForeignKey(Account, null=True, on_delete=models.PROTECT, related_name="+")
    layout = models.CharField(max_length=40)
    labels = models.ManyToManyField(IssuedNumber, related_name="printed")

    @property
    def numbers(self) -> list[str]:
        return sorted(number_of(each.serial) for each in self.labels.all())
