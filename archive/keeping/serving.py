"""Serving an archive from start to end: the server, the worker, and what happens on Ctrl-C."""

from __future__ import annotations

import _thread
import gc
import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable
from typing import Any

from django.conf import settings

from archive.keeping import opening, upkeep
from archive.keeping.errands.worker import Worker

Application = Callable[[dict[str, Any], Any], Iterable[bytes]]
FIRST_PORT, _LAST_PORT = 8350, 65_535
THREADS = 8


class PortTaken(RuntimeError):
    """The port that was asked for cannot be had; the sentence says why."""


def free_port(host: str, wanted: int | None) -> int:
    """Return the port asked for, or the first free one from 8350 on.

    Raises:
        PortTaken: the port asked for, or twenty ports in a row, are in use; or it is none that may be had.
    """
    if wanted is not None and not 1 <= wanted <= _LAST_PORT:
        raise PortTaken(f"A port is a number from 1 to {_LAST_PORT}. Choose one above 1024 with --port.")
    for port in [wanted] if wanted else range(FIRST_PORT, FIRST_PORT + 20):
        with socket.socket() as probe:
            if os.name != "nt":  # there the same option would let two programs have one port
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((host, port))
            except PermissionError:
                raise PortTaken(f"Port {port} is not for everybody. Choose one above 1024 with --port.") from None
            except OSError:
                continue
            return port
    raise PortTaken(f"Port {wanted or FIRST_PORT} is in use. Choose another with --port.")


def _watch_for_restart() -> None:
    """End `run` in the main thread when a restart is asked for, as Ctrl-C does."""
    opening.restart_asked.wait()
    time.sleep(1.0)  # the page that asked is still on its way to the browser
    _thread.interrupt_main()


def without_bodies(application: Application) -> Application:
    """Let a HEAD request have no body on the wire: neither Django nor waitress takes it away."""

    def answer(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        body = application(environ, start_response)
        if environ.get("REQUEST_METHOD") != "HEAD":
            return body
        close = getattr(body, "close", None)
        if close is not None:
            close()
        return []

    return answer


def _make_server(host: str, port: int) -> Any:
    from waitress import create_server

    from archive.keeping.bodies import Channel
    from archive.wsgi import application

    server = create_server(
        without_bodies(application),
        host=host,
        port=port,
        threads=THREADS,
        # Our own parser refuses what is over the limit, in words; this is where waitress cuts the line.
        max_request_body_size=8 * settings.UPLOAD_LIMIT_BYTES,
        # Waitress spills larger bodies to a temporary file; it belongs on the volume of `incoming`.
        inbuf_overflow=1 << 20,
        recv_bytes=1 << 16,
        channel_timeout=300,
        ident="Kistbook",
        clear_untrusted_proxy_headers=True,
    )
    server.channel_class = Channel
    return server


def spare_the_collector() -> None:
    """Have Python's collector of unused objects leave alone what stays for good, and look seldom at the rest.

    Drawing a page makes some ten thousand objects, and looking through the whole program in the midst of it took
    longer than the page. The figures are ours, measured with the bench of the catalogue.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 10, 20)


def serve(host: str, port: int, say: Callable[[str], None], when_open: Callable[[], None]) -> bool:
    """Serve until Ctrl-C or a restart; return True when a restart was asked for.

    `when_open` is called once the port answers. At the end requests under way get five seconds to come to theirs; an
    errand stops after its present step.

    Raises:
        PortTaken: somebody took the port since it was found free.
    """
    try:
        server = _make_server(host, port)
    except OSError:
        raise PortTaken(f"Port {port} was taken just now. Start Kistbook again.") from None
    spare_the_collector()
    worker = Worker(when_idle=upkeep.run_due)
    worker.start()
    opening.restart_asked.clear()
    threading.Thread(target=_watch_for_restart, name="restart-watch", daemon=True).start()
    try:
        when_open()
        # waitress returns from Ctrl-C by itself, after its threads have ended their requests.
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        say("\nOpening again …" if opening.restart_asked.is_set() else "\nClosing …")
        worker.close()
        server.close()
    return opening.restart_asked.is_set()


def begin_anew(port: int) -> None:
    """Replace this process by a fresh one of the same command on the same port, since browsers wait there."""
    command = [sys.executable, *sys.argv]
    if not any(word == "--port" or word.startswith("--port=") for word in sys.argv):
        command += ["--port", str(port)]
    sys.stdout.flush()
    if os.name == "nt":
        # There a replaced process would leave its window; this one waits for its successor instead.
        sys.exit(subprocess.run(command, check=False).returncode)  # noqa: S603 - our own command again
    os.execv(sys.executable, command)  # noqa: S606 - our own command again
