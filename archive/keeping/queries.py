"""Reading the archive's health."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.conf import settings

from archive.keeping import fatal
from archive.keeping.checking import DATABASE_CHECK
from archive.keeping.models import ArchiveInfo, Errand, FileCheck, UpkeepRun
from archive.keeping.snapshots import Snapshot, snapshots
from archive.keeping.sqlite import modes


@dataclass(frozen=True)
class Health:
    """What the health page shows."""

    version: str
    folder: str
    sqlite: str
    mode: str
    free_gb: float
    troubles: list[str]
    database_checked: datetime | None
    snapshots: list[Snapshot]
    damaged_files: list[str]
    checked_files: int
    last_check: datetime | None
    upkeep: list[UpkeepRun]
    disk_broken: bool


def health() -> Health:
    """Gather what is known of everything the archive stands on; what takes long was read by upkeep or at start."""
    chosen = modes.mode()
    runs = list(UpkeepRun.objects.order_by("name"))
    checked = next((each for each in runs if each.name == DATABASE_CHECK), None)
    checks = FileCheck.objects
    newest = checks.order_by("-checked_at").first()
    return Health(
        version=settings.KISTBOOK_VERSION,
        folder=str(settings.DATA_FOLDER.root),
        sqlite=".".join(str(part) for part in modes.library_version()) + (" (bundled)" if modes.is_bundled() else ""),
        mode=f"{chosen.journal}, {chosen.synchronous}" + (", one writer at a time" if chosen.one_writer else ""),
        free_gb=shutil.disk_usage(settings.DATA_FOLDER.root).free / 1e9,
        troubles=[checked.trouble] if checked and checked.trouble else [],
        # A damaged archive does not open, so without a later check the one at start stands.
        database_checked=checked.last_at if checked else _opened_at(),
        snapshots=snapshots(),
        damaged_files=list(checks.filter(good=False).values_list("sha256", flat=True)),
        checked_files=checks.count(),
        last_check=newest.checked_at if newest else None,
        upkeep=runs,
        disk_broken=fatal.is_broken(),
    )


def _opened_at() -> datetime | None:
    return ArchiveInfo.objects.filter(pk=1).values_list("opened_at", flat=True).first()


def errands() -> list[Errand]:
    """Return the latest errands, the newest first."""
    return list(Errand.objects.order_by("-created_at")[:50])


def find_errand(public_id: str) -> Errand | None:
    """Return one errand, or None."""
    return Errand.objects.filter(public_id=public_id).first()


def report_lines() -> list[str]:
    """Return the problem report: versions, settings and log lines, without names or titles."""
    import platform

    from django import get_version

    found = health()
    lines = [
        "Kistbook problem report. Read it before you send it to anybody.",
        f"Kistbook {found.version}, Django {get_version()}, Python {platform.python_version()}, {platform.system()}",
        f"SQLite {found.sqlite}, {found.mode}",
        f"Free space {found.free_gb:.1f} GB; database troubles: {len(found.troubles)}",
        f"Snapshots {len(found.snapshots)}; originals read again {found.checked_files}, "
        f"damaged {len(found.damaged_files)}",
        "",
        "The last lines of the log:",
    ]
    log: Any = settings.DATA_FOLDER.logs / "kistbook.log"
    if log.is_file():
        lines += log.read_text(encoding="utf-8", errors="replace").splitlines()[-200:]
    return lines
