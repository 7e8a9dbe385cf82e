"""Accounts, invitations, what was changed together, forms that acted, and tombstones."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils import timezone

from archive.access.records import new_public_id


class Role(models.TextChoices):
    """What an account may do; visitors have no account."""

    KEEPER = "keeper", "keeper"
    RELATIVE = "relative", "relative"


class AccountManager(BaseUserManager["Account"]):
    """Finds accounts by their sign-in name without regard to upper and lower case."""

    def get_by_natural_key(self, username: str | None) -> Account:
        return self.get(username=(username or "").strip().casefold())


class Account(AbstractBaseUser):
    """Somebody who signs in."""

    public_id = models.CharField(max_length=12, unique=True, default=new_public_id, editable=False)
    username = models.CharField("sign-in name", max_length=60, unique=True)
    display_name = models.CharField("name shown to the family", max_length=120)
    role = models.CharField(max_length=10, choices=Role.choices, default=Role.RELATIVE)
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["display_name"]
    objects: ClassVar[AccountManager] = AccountManager()

    def __str__(self) -> str:
        return self.display_name

    @property
    def is_keeper(self) -> bool:
        return self.role == Role.KEEPER


class Invitation(models.Model):
    """A link that lets one relative make an account; only a digest of the link's secret is kept."""

    public_id = models.CharField(max_length=12, unique=True, default=new_public_id, editable=False)
    digest = models.CharField(max_length=64, unique=True)
    display_name = models.CharField("name of the relative", max_length=120)
    role = models.CharField(max_length=10, choices=Role.choices, default=Role.RELATIVE)
    created_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    created_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")


class ChangeSet(models.Model):
    """One act of one person: everything changed together, and undone together."""

    public_id = models.CharField(max_length=12, unique=True, default=new_public_id, editable=False)
    at = models.DateTimeField(default=timezone.now)
    who = models.ForeignKey(Account, null=True, on_delete=models.PROTECT, related_name="+")
    verb = models.CharField(max_length=60)  # a code such as things.edit; words stand in the pages
    undoes = models.ForeignKey("self", null=True, on_delete=models.SET_NULL, related_name="undone_by")

    class Meta:
        indexes = [models.Index(fields=["-at"])]


class HistoryRow(models.Model):
    """What every history row carries besides the record's own columns."""

    change_set = models.ForeignKey(ChangeSet, null=True, on_delete=models.PROTECT, related_name="+", db_constraint=True)

    class Meta:
        abstract = True


class ActedForm(models.Model):
    """A form that has acted: its id and the digest of its fields, so that the same sheet acts once."""

    form_id = models.CharField(max_length=40)
    digest = models.CharField(max_length=64)
    at = models.DateTimeField(default=timezone.now)
    leads_to = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["form_id", "digest"], name="a_form_acts_once")]


class Tombstone(models.Model):
    """What stays of a record that was destroyed for good: that it was, and why it is not."""

    subject = models.CharField(max_length=30)
    number = models.CharField(max_length=20, blank=True)
    public_id = models.CharField(max_length=12)
    born_at = models.DateTimeField()
    at = models.DateTimeField(default=timezone.now)
    who = models.ForeignKey(Account, null=True, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300)

    def __str__(self) -> str:
        return self.number or self.public_id


def recorded_models() -> list[type[models.Model]]:
    """Return every model that keeps a history, in a steady order."""
    from django.apps import apps

    found: list[Any] = [m for m in apps.get_models() if hasattr(m, "history") and hasattr(m, "public_id")]
    return sorted(found, key=lambda model: model._meta.label)
