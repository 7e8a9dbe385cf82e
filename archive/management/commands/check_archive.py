"""`manage.py check_archive`: read everything once and say what is wrong."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from archive.keeping.media_store import damaged
from archive.keeping.snapshots import check_database


class Command(BaseCommand):
    help = "Check the database and read every original again."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("--home", metavar="FOLDER", help="the data folder")

    def handle(self, *args: Any, **options: Any) -> None:
        from archive.pictures.models import Picture

        troubles = check_database(settings.DATA_FOLDER.database)
        if not troubles:
            digests = sorted(set(Picture.objects.values_list("sha256", flat=True)))
            troubles = [f"the original {digest} is missing or changed" for digest in damaged(digests)]
            print(f"Database sound; {len(digests)} originals read.")
        if troubles:
            raise CommandError("\n".join(troubles))
