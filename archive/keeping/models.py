"""The archive's own bookkeeping: its version, its due work and its errands. None of it has a history."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.utils import timezone

from archive.access.records import new_public_id

__all__ = ["ArchiveInfo", "Errand", "FileCheck", "UpkeepRun"]


class ArchiveInfo(models.Model):
    """Which version of Kistbook last opened the archive; one row, with id 1."""

    version = models.CharField(max_length=20)
    opened_at = models.DateTimeField(default=timezone.now)


class UpkeepRun(models.Model):
    """When a piece of due work was last done, and how it went."""

    name = models.CharField(max_length=60, unique=True)
    last_at = models.DateTimeField()
    trouble = models.CharField(max_length=300, blank=True)

    @property
    def words(self) -> str:
        """Return what is done, for people; names may end with the number of a recipe."""
        name = self.name.rstrip("0123456789 ")
        return {"search index": "making everything findable", "checking the database": "checking the records"}.get(
            name, name
        )


class FileCheck(models.Model):
    """When an original was last read again, byte for byte, and whether it still fits its name."""

    sha256 = models.CharField(max_length=64, unique=True)
    checked_at = models.DateTimeField(db_index=True)
    good = models.BooleanField(default=True)


class Errand(models.Model):
    """Work that Kistbook does by itself or in the background, resumable after a kill."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        RUNNING = "running", "under way"
        DONE = "done", "done"
        STOPPED = "stopped", "stopped"
        FAILED = "failed", "failed"

    OVER: ClassVar[tuple[str, ...]] = ("done", "stopped", "failed")

    public_id = models.CharField(max_length=12, unique=True, default=new_public_id, editable=False)
    kind = models.CharField(max_length=60)
    title = models.CharField(max_length=200)
    payload = models.JSONField(default=dict)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING, db_index=True)
    stop_asked = models.BooleanField(default=False)
    done = models.PositiveBigIntegerField(default=0)
    total = models.PositiveBigIntegerField(default=0)
    message = models.CharField(max_length=300, blank=True)
    result_url = models.CharField(max_length=300, blank=True)
    created_at = models.DateTimeField(default=timezone.now)
    finished_at = models.DateTimeField(null=True, blank=True)
    created_by = models.ForeignKey("archive.Account", null=True, on_delete=models.SET_NULL, related_name="+")

    @property
    def is_over(self) -> bool:
        return self.state in self.OVER
