"""An archive served for real: a room, files of readings sent to it, other pages asked for meanwhile, kills."""

from __future__ import annotations

import http.client
import re
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

from tests.keeping.harness import Server

EDGE = "edgeofthisupload"
MEGABYTE = 1_000_000


@dataclass
class Answer:
    """What the server answered."""

    status: int
    body: str
    place: str


class Served:
    """A server with its keeper and one room, asked over HTTP as a browser asks."""

    def __init__(self, home: Path) -> None:
        self.home, self.server = home, Server(home)
        self.server.start()
        self.cookie = self.server.make_keeper()
        self.press("/boxes/add/", title="Parlour", level="room")
        self.room = str(self.value("SELECT public_id FROM archive_box WHERE level = 'room'"))

    # -- asking --------------------------------------------------------------------------------------------------

    def get(self, path: str) -> Answer:
        status, body, _ = self.server.get(path, self.cookie)
        return Answer(status, body, "")

    def _form(self, path: str) -> dict[str, str]:
        _, body, fresh = self.server.get(path, self.cookie)
        if fresh:
            self.cookie = "; ".join((self.cookie, fresh))
        found = {
            name: re.search(rf'name="{name}" value="([^"]+)"', body) for name in ("csrfmiddlewaretoken", "form_id")
        }
        return {name: match[1] for name, match in found.items() if match}

    def press(self, path: str, **fields: str) -> Answer:
        """Send the form of a page."""
        body = urlencode(self._form(path) | fields).encode()
        status, place, _ = self.server.post(path, body, "application/x-www-form-urlencoded", self.cookie)
        return Answer(status, "", place)

    def send_file(self, size: int, pieces: Iterator[bytes], path: str = "/rooms/readings/import/") -> Answer:
        """Send a file of so many bytes piece by piece, never holding it whole."""
        fields = "".join(
            f'--{EDGE}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
            for name, value in self._form(path).items()
        )
        head = (
            f'{fields}--{EDGE}\r\nContent-Disposition: form-data; name="file"; filename="logger.csv"\r\n\r\n'.encode()
        )
        tail = f"\r\n--{EDGE}--\r\n".encode()
        connection = http.client.HTTPConnection("127.0.0.1", self.server.port, timeout=120)
        connection.putrequest("POST", path)
        connection.putheader("Cookie", self.cookie)
        connection.putheader("Content-Type", f"multipart/form-data; boundary={EDGE}")
        connection.putheader("Content-Length", str(len(head) + size + len(tail)))
        connection.endheaders()
        connection.send(head)
        for piece in pieces:
            connection.send(piece)
        connection.send(tail)
        answer = connection.getresponse()
        found = Answer(answer.status, answer.read().decode(), answer.getheader("Location") or "")
        connection.close()
        return found

    # -- what is there ---------------------------------------------------------------------------------------------

    def value(self, sql: str) -> object:
        """Return the first value of a query on the database as it lies on the disk."""
        with closing(sqlite3.connect(self.home / "kistbook.sqlite3", timeout=20)) as connection:
            row = connection.execute(sql).fetchone()
        return row[0] if row else None

    def wait_for(self, sql: str, wanted: object) -> None:
        """Wait until a query gives a value."""
        self.wait_until(lambda: self.value(sql) == wanted, lambda: f"{sql}: {self.value(sql)!r}, not {wanted!r}")

    def wait_until(self, holds: Callable[[], bool], words: Callable[[], str] = lambda: "it never came") -> None:
        """Wait until something is so.

        Raises:
            TimeoutError: it was not so within two minutes.
        """
        until = time.monotonic() + 120
        while not holds():
            if time.monotonic() > until:
                raise TimeoutError(words())
            time.sleep(0.005)

    def log_bytes(self) -> int:
        """Return how large what is not yet in the database proper has grown, in either mode of SQLite."""
        logs = [self.home / f"kistbook.sqlite3-{end}" for end in ("wal", "journal")]
        return sum(path.stat().st_size for path in logs if path.exists())

    def incoming(self) -> list[str]:
        """Return what lies in `incoming`."""
        return sorted(path.name for path in (self.home / "incoming").iterdir())

    def memory_mb(self) -> float:
        """Return the most memory the server has held so far (Linux)."""
        assert self.server.process is not None
        status = Path(f"/proc/{self.server.process.pid}/status").read_text()
        found = re.search(r"VmHWM:\s+(\d+) kB", status)
        assert found
        return int(found[1]) / 1024

    # -- other pages meanwhile ---------------------------------------------------------------------------------------

    @contextmanager
    def asking(self, *paths: str) -> Iterator[dict[str, list[float]]]:
        """Ask for pages in turn, as somebody who reads them, and collect the seconds each answer took."""
        stop, seconds = threading.Event(), {path: list[float]() for path in paths}

        def ask() -> None:
            while not stop.is_set():
                for path in paths:
                    began = time.perf_counter()
                    status, _, _ = self.server.get(path, self.cookie)
                    if status != 200:
                        raise RuntimeError(f"{path}: {status}")
                    seconds[path].append(time.perf_counter() - began)
                    time.sleep(0.01)

        reader = threading.Thread(target=ask, daemon=True)
        reader.start()
        try:
            yield seconds
        finally:
            stop.set()
            reader.join(timeout=30)


def share(values: list[float], part: float) -> float:
    """Return the value that so large a part of the values does not exceed."""
    return sorted(values)[min(len(values) - 1, int(part * len(values)))]
