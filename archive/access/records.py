"""What every catalogued record shares: an opaque address, a version, and being withdrawn."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING, Any, Self

from django.db import models
from django.utils import timezone
from simple_history.models import HistoricalRecords

if TYPE_CHECKING:
    from archive.access.models import Account

# Letters and figures that are hard to confuse when read aloud; 10 of them leave nothing to guess.
_ALPHABET = "23456789abcdefghjkmnpqrstuvwxyz"


class ReadAccess(models.TextChoices):
    """Who may see a record."""

    KEEPER = "keeper", "only the keeper"
    RELATIVES = "relatives", "relatives who are signed in"
    ALL = "all", "everybody on the home network"


def new_public_id() -> str:
    """Return an address that tells nothing and cannot be guessed."""
    return "".join(secrets.choice(_ALPHABET) for _ in range(10))


def history(**options: Any) -> HistoricalRecords:
    """Return the history manager of a record, each row tied to the change set it came with."""
    from archive.access.models import HistoryRow

    return HistoricalRecords(
        bases=[HistoryRow],
        history_user_id_field=models.BigIntegerField(null=True),
        history_user_getter=_nobody,
        history_user_setter=_set_nobody,
        **options,
    )


def _nobody(historical_instance: Any) -> None:
    """Who did it stands in the change set; it is not written twice."""


def _set_nobody(historical_instance: Any, user: Any) -> None:
    historical_instance.history_user_id = None


def touch(record: Any) -> None:
    """Count the version of a record up, as every change does; what has no version stays as it is.

    When it is saved, it must be the first to have come to that version: see `access.signals`.
    """
    if hasattr(record, "version"):
        record.version += 1
        record.changed_at = timezone.now()
        record.counted_up = True


class RecordQuerySet(models.QuerySet[Any]):
    """Reads that obey access; every page starts from `visible_to`."""

    def visible_to(self, user: Account | None) -> Self:
        """Return what this reader may see; ``None`` stands for a visitor on the home network."""
        role = getattr(user, "role", None)
        if role == "keeper":
            return self
        levels = [ReadAccess.ALL] if role is None else [ReadAccess.ALL, ReadAccess.RELATIVES]
        return self.filter(withdrawn_at__isnull=True, access__in=levels)

    def present(self) -> Self:
        """Return what is not withdrawn."""
        return self.filter(withdrawn_at__isnull=True)


class CannotBe(ValueError):
    """A record refuses to be saved as it is, such as a box that would stand in itself; the message is a sentence."""


class Attached(models.Model):
    """Base of rows that belong to a record or link two: an address for their form, a version, and a history."""

    public_id = models.CharField(max_length=12, unique=True, default=new_public_id, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    changed_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        abstract = True


def owners_of(model: type[models.Model]) -> tuple[str, ...]:
    """Return the names of the foreign keys by which a table's rows belong to a record (``BELONGS_TO``).

    What belongs to a record is told in its history and goes when it is destroyed for good.
    """
    named = getattr(model, "BELONGS_TO", ())
    return (named,) if isinstance(named, str) else tuple(named)


class Record(models.Model):
    """Base of catalogued records."""

    public_id = models.CharField(max_length=12, unique=True, default=new_public_id, editable=False)
    access = models.CharField("who may see it", max_length=10, choices=ReadAccess.choices, default=ReadAccess.RELATIVES)
    version = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    changed_at = models.DateTimeField(default=timezone.now, editable=False)
    withdrawn_at = models.DateTimeField("withdrawn", null=True, blank=True, editable=False)
    withdrawn_why = models.CharField("why it was withdrawn", max_length=300, blank=True, editable=False)
    # Two records turned out to be one: this is the address of the one that was kept, and this one is withdrawn.
    united_with = models.CharField("is one with", max_length=12, blank=True, editable=False)

    class Meta:
        abstract = True
