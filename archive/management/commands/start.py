"""`manage.py start`: open the archive and serve it to this computer, or to the home network."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import tempfile
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connections

from archive.keeping import firstcode, opening, serving
from archive.keeping.autostart import write_launcher
from archive.keeping.lock import ArchiveLock, HeldElsewhere
from archive.sharing.addresses import own_addresses
from archive.sharing.hosts import SHARE_VARIABLE


class Command(BaseCommand):
    help = "Open the archive and serve it. First visit makes the keeper."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--demo", action="store_true", help="an invented household, in a folder of its own")
        parser.add_argument("--home", metavar="FOLDER", help="the data folder")
        parser.add_argument("--port", type=int, help="default 8350, or the next free one")
        parser.add_argument("--share", action="store_true", help="let the home network in, not only this computer")

    def handle(self, *args: Any, **options: Any) -> None:
        signal.signal(signal.SIGTERM, signal.default_int_handler)  # a log-out ends it as cleanly as Ctrl-C
        folder = settings.DATA_FOLDER
        had_database = folder.database.exists()
        if options["demo"] and had_database and not folder.demo_marker.exists():
            raise CommandError(f"{folder.root} holds a keeper’s own archive. The demo needs another folder.")
        if not options["demo"] and folder.demo_marker.exists():
            raise CommandError(f"{folder.root} holds the demo. Start it with --demo, or choose another folder.")
        try:
            opening.prepare_folder()
            lock = ArchiveLock(folder)
            lock.take()
        except (opening.CannotOpen, HeldElsewhere) as error:
            raise CommandError(str(error)) from None
        self._settle_in()
        try:
            port = self._open_and_serve(lock, options)
        except (opening.CannotOpen, serving.PortTaken) as error:
            raise CommandError(str(error)) from None
        except KeyboardInterrupt:
            self._say("\nClosed before it was open. Nothing was changed.")
            return
        finally:
            connections.close_all()
            lock.give_back()
        if opening.restart_asked.is_set():
            serving.begin_anew(port)
        self._say("Closed. Everything is saved.")

    def _settle_in(self) -> None:
        """Use what exists only now that the folder does: its secret, and a place for big uploads on its volume."""
        settings.SECRET_KEY = settings.DATA_FOLDER.secret.read_text().strip()
        settings.FILE_UPLOAD_TEMP_DIR = str(settings.DATA_FOLDER.incoming)
        tempfile.tempdir = str(settings.DATA_FOLDER.incoming)
        if settings.LOGGING["handlers"]["file"]["class"] == "logging.StreamHandler":
            from logging.config import dictConfig

            from archive.keeping.logs import logging_settings

            dictConfig(logging_settings(settings.DATA_FOLDER.logs))

    def _open_and_serve(self, lock: ArchiveLock, options: dict[str, Any]) -> int:
        opening.carry_out_restore(self._say)
        opening.open_archive(self._say)
        if options["demo"]:
            from archive.demo import build_if_missing

            build_if_missing(self._say)
        if options["share"]:
            os.environ[SHARE_VARIABLE] = "1"
        port = serving.free_port("0.0.0.0" if options["share"] else "127.0.0.1", options["port"])  # noqa: S104
        with contextlib.suppress(OSError):  # a full disk; the file of an earlier start is there
            write_launcher()

        def when_open() -> None:
            lock.tell(f"http://127.0.0.1:{port}/")
            self._tell_where(port, options)

        serving.serve("0.0.0.0" if options["share"] else "127.0.0.1", port, self._say, when_open)  # noqa: S104
        return port

    def _tell_where(self, port: int, options: dict[str, Any]) -> None:
        from archive.access.models import Account

        if not options["port"] and port != serving.FIRST_PORT:
            self._say(f"Port {serving.FIRST_PORT} is in use; this one is {port}.")
        self._say(f"Kistbook {settings.KISTBOOK_VERSION} keeps its data in {settings.DATA_FOLDER.root}")
        self._say(f"Open in a browser on this computer:  http://127.0.0.1:{port}/")
        if options["share"]:
            for address in own_addresses():
                shown = f"[{address}]" if ":" in address else address
                self._say(f"On the home network:                 http://{shown}:{port}/")
        if not Account.objects.exists():
            self._say(f"First visit from another device needs this code:  {firstcode.new_code()}")
        self._say("Ctrl-C closes it.")

    def _say(self, words: str) -> None:
        print(words, flush=True)
        sys.stdout.flush()
