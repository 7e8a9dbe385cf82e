"""`manage.py snapshot`: keep the database as it stands."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from archive.keeping.opening import CannotOpen, prepare_folder
from archive.keeping.snapshots import take_snapshot


class Command(BaseCommand):
    help = "Keep the database as it stands in the snapshots folder."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("--home", metavar="FOLDER", help="the data folder")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            prepare_folder()
            print(f"Kept {take_snapshot('by-hand')}.")
        except (CannotOpen, OSError) as error:
            raise CommandError(str(error)) from None
