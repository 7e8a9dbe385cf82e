"""Serving an archive from start to end: the server, the worker, and what happens on Ctrl-C."""

from __future__ import annotations

import os
import socket
import sys
import threading
import time
from collections.abc import Callable
from typing import Any

from django.conf import settings

from archive.keeping import opening, upkeep
from archive.keeping.errands.worker import Worker

FIRST_PORT = 8350
THREADS = 8


class PortTaken(RuntimeError):
    """The port that was asked for is in use."""


def free_port(host: str, wanted: int | None) -> int:
    """Return the port asked for, or the first free one from 8350 on.

    Raises:
        PortTaken: the port asked for, or twenty ports in a row, are in use.
    """
    for port in [wanted] if wanted else range(FIRST_PORT, FIRST_PORT + 20):
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((host, port))
            except OSError:
                continue
            return port
    raise PortTaken(f"Port {wanted or FIRST_PORT} is in use. Choose another with --port.")


class _Watch(threading.Thread):
    """Closes the server when a restart is asked for, so that the main thread goes on from `run`."""

    def __init__(self, server: Any) -> None:
        super().__init__(name="restart-watch", daemon=True)
        self._server = server

    def run(self) -> None:
        opening.restart_asked.wait()
        time.sleep(1.0)  # the page that asked is still on its way to the browser
        self._server.close()


def serve(host: str, port: int, say: Callable[[str], None]) -> bool:
    """Serve until Ctrl-C or a restart; return True when a restart was asked for."""
    from waitress import create_server

    from archive.wsgi import application

    server = create_server(
        application,
        host=host,
        port=port,
        threads=THREADS,
        max_request_body_size=settings.UPLOAD_LIMIT_BYTES,
        # Waitress spills larger bodies to a temporary file; it belongs on the volume of `incoming`.
        inbuf_overflow=1 << 20,
        channel_timeout=300,
        ident="Kistbook",
        clear_untrusted_proxy_headers=True,
    )
    worker = Worker(when_idle=upkeep.run_due)
    worker.start()
    opening.restart_asked.clear()
    _Watch(server).start()
    try:
        server.run()
    except (KeyboardInterrupt, OSError):
        if not opening.restart_asked.is_set():
            say("\nClosing …")
    finally:
        worker.close()
        server.close()
    return opening.restart_asked.is_set()


def begin_anew() -> None:
    """Replace this process by a fresh one of the same command."""
    sys.stdout.flush()
    os.execv(sys.executable, [sys.executable, *sys.argv])  # noqa: S606 - our own command again
