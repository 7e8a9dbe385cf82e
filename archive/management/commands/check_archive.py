"""`manage.py check_archive`: read everything once and say what is wrong."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from archive.keeping import references
from archive.keeping.media_store import damaged
from archive.keeping.snapshots import check_database


class Command(BaseCommand):
    help = "Check the database and read every original again."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("--home", metavar="FOLDER", help="the data folder")

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DATA_FOLDER.database.is_file():
            raise CommandError(f"There is no archive in {settings.DATA_FOLDER.root}.")
        troubles = check_database(settings.DATA_FOLDER.database, live=True)
        if not troubles:
            digests = sorted(references.named_now())
            troubles = [f"the original {digest} is missing or changed" for digest in damaged(digests)]
            print(f"Database sound; {len(digests)} originals read.")
        if troubles:
            raise CommandError("\n".join(troubles))
