"""`manage.py restore [NAME]`: list the snapshots, or put one back."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from archive.keeping.lock import ArchiveLock, HeldElsewhere
from archive.keeping.opening import put_back
from archive.keeping.snapshots import BadSnapshot, find_snapshot, snapshots, tidy_after_kill


class Command(BaseCommand):
    help = "Without NAME: list the snapshots. With NAME: put that one back; what stands now is kept beside it."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("name", nargs="?")
        parser.add_argument("--home", metavar="FOLDER", help="the data folder")

    def handle(self, *args: Any, **options: Any) -> None:
        if not options["name"]:
            for each in snapshots():
                print(f"{each.name}   {each}, {each.size / 1e6:.1f} MB")
            return
        found = find_snapshot(options["name"])
        if found is None:
            raise CommandError(f"There is no snapshot {options['name']}. Run restore without a name to list them.")
        lock = ArchiveLock(settings.DATA_FOLDER)
        try:
            lock.take()
        except HeldElsewhere as error:
            raise CommandError(str(error)) from None
        try:
            tidy_after_kill()
            aside = put_back(found)
        except (BadSnapshot, OSError) as error:
            raise CommandError(str(error)) from None
        finally:
            lock.give_back()
        print(f"Put back {found}. What stood before is kept as {aside.name}.")
