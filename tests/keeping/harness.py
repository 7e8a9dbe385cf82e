"""A server that is killed at random, and a client that remembers what it was told is saved.

Used in short form by the tests and in long form by tests/bench/ground/kills.py.
"""

from __future__ import annotations

import contextlib
import hashlib
import http.client
import os
import random
import re
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode

if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:
    # A shell starts what runs in the background without Ctrl-C, and children would inherit that.
    signal.signal(signal.SIGINT, signal.default_int_handler)

ROOT = Path(__file__).resolve().parent.parent.parent
FAULTS = ("received", "before-publish", "published", "snapshot-half")


@dataclass
class Told:
    """What the server said was saved."""

    titles: list[str] = field(default_factory=list)
    digests: list[str] = field(default_factory=list)
    caption: int = -1  # the last one saved over an older one
    saves: int = 0
    snapshots: int = 0
    lock: threading.Lock = field(default_factory=threading.Lock)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Server:
    """One archive served by `manage.py start`."""

    def __init__(self, home: Path, environ: dict[str, str] | None = None) -> None:
        self.home, self.port, self.environ = home, free_port(), environ or {}
        self.process: subprocess.Popen[bytes] | None = None

    def spawn(self, fault: str = "") -> None:
        """Start without waiting for anything."""
        environ = {**os.environ, **self.environ, "KISTBOOK_FAULT": fault}
        environ.pop("KISTBOOK_HOME", None)
        self.process = subprocess.Popen(
            [sys.executable, "manage.py", "start", "--home", str(self.home), "--port", str(self.port)],
            cwd=ROOT, env=environ, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip

    def start(self, fault: str = "") -> float:
        """Start and wait for the first answer; return the seconds it took."""
        began = time.monotonic()
        self.spawn(fault)
        while time.monotonic() - began < 60:
            try:
                self.get("/sign-in/")
            except OSError:
                time.sleep(0.02)
            else:
                return time.monotonic() - began
        raise RuntimeError("the server did not start")

    def kill(self) -> None:
        assert self.process is not None
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def close(self) -> int:
        assert self.process is not None
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(timeout=30)

    def get(self, path: str, cookie: str = "") -> tuple[int, str, str]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        connection.request("GET", path, headers={"Cookie": cookie})
        answer = connection.getresponse()
        body = answer.read().decode(errors="replace")
        cookies = "; ".join(v.split(";")[0] for k, v in answer.getheaders() if k == "Set-Cookie")
        connection.close()
        return answer.status, body, cookies

    def post(self, path: str, body: bytes, kind: str, cookie: str) -> tuple[int, str, str]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        connection.request("POST", path, body, {"Cookie": cookie, "Content-Type": kind})
        answer = connection.getresponse()
        answer.read()
        cookies = "; ".join(v.split(";")[0] for k, v in answer.getheaders() if k == "Set-Cookie")
        place = answer.getheader("Location") or ""
        connection.close()
        return answer.status, place, cookies

    def make_keeper(self) -> str:
        """Create the keeper and return the session's cookies."""
        _, body, cookie = self.get("/welcome/")
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', body)
        assert token
        fields = {
            "csrfmiddlewaretoken": token[1], "home_name": "Harness", "display_name": "K", "username": "k",
            "password": "three words in row",
        }  # fmt: skip
        form = "application/x-www-form-urlencoded"
        status, _, signed_in = self.post("/welcome/", urlencode(fields).encode(), form, cookie)
        assert status == 302, status
        return signed_in


def picture(seed: int) -> bytes:
    """A small JPEG that differs for every seed, made without drawing anew each time."""
    import io

    from PIL import Image

    file = io.BytesIO()
    Image.new("RGB", (64, 48), (seed % 256, seed // 256 % 256, seed // 65536 % 256)).save(file, format="JPEG")
    return file.getvalue() + hashlib.sha256(str(seed).encode()).digest()


def _token(page: str) -> str:
    found = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)
    if found is None:
        raise http.client.HTTPException("no form")
    return found[1]


def press(server: Server, cookie: str, page: str, path: str, **fields: str) -> int:
    """Fetch a page and send a form of it; return the status."""
    _, body, fresh = server.get(page, cookie)
    form = {"csrfmiddlewaretoken": _token(body), "form_id": f"p{time.monotonic_ns()}", **fields}
    cookies = "; ".join(part for part in (cookie, fresh) if part)
    return server.post(path, urlencode(form).encode(), "application/x-www-form-urlencoded", cookies)[0]


def save(server: Server, cookie: str, public_id: str, number: int, told: Told) -> int:
    """Save a caption over the last one; remember it only when the server says it is saved. Returns the status."""
    path = f"/pictures/{public_id}/edit/"
    status = press(server, cookie, path, path, view="front", caption=f"caption {number}")
    if status == 302:
        with told.lock:
            told.caption = number
            told.saves += 1
    return status


def keep_snapshot(server: Server, cookie: str, told: Told) -> None:
    """Press "take a snapshot now"; count it only when the server says it is kept."""
    if press(server, cookie, "/keeping/", "/keeping/snapshot/") == 302:
        with told.lock:
            told.snapshots += 1


def upload(server: Server, cookie: str, number: int, told: Told, more: bytes = b"") -> int:
    """Add a thing with a picture; remember it only when the server says it is saved. Returns the status."""
    _, page, fresh = server.get("/things/add/", cookie)
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)
    if token is None:
        return 0
    data, title = picture(number) + more, f"Harness thing {number}"
    edge = "edgeedgeedge"
    fields = {
        "csrfmiddlewaretoken": token[1],
        "title": title,
        "kind_code": "letter",
        "count": "1",
        "form_id": f"h{number}",
    }
    parts = "".join(f'--{edge}\r\nContent-Disposition: form-data; name="{k}"\r\n\r\n{v}\r\n' for k, v in fields.items())
    head = f'--{edge}\r\nContent-Disposition: form-data; name="pictures"; filename="{number}.jpg"\r\n\r\n'
    body = parts.encode() + head.encode() + data + f"\r\n--{edge}--\r\n".encode()
    cookies = "; ".join(part for part in (cookie, fresh) if part)
    status, _, _ = server.post("/things/add/", body, f"multipart/form-data; boundary={edge}", cookies)
    if status == 302:
        with told.lock:
            told.titles.append(title)
            told.digests.append(hashlib.sha256(data).hexdigest())
    return status


def run_kills(
    home: Path, kills: int, seed: int, environ: dict[str, str] | None = None, least_told: int = 0
) -> dict[str, int]:
    """Kill a server again and again during uploads, then compare what was told with what is there.

    On a slow computer a server may be killed before it has said anything: rounds are added, and servers live longer,
    until as many uploads were told as saved as ``least_told`` says.
    """
    chance, told, number, round_ = random.Random(seed), Told(), 0, -1
    server = Server(home, environ)
    server.start()
    cookie = server.make_keeper()
    upload(server, cookie, 0, told)
    with sqlite3.connect(home / "kistbook.sqlite3") as connection:
        public_id = str(connection.execute("SELECT public_id FROM archive_picture ORDER BY id").fetchone()[0])
    connection.close()
    while round_ + 1 < kills or (len(told.titles) < least_told and round_ < kills * 5):
        round_ += 1
        number += 1000
        stop = threading.Event()

        def work(first: int, stop: threading.Event = stop) -> None:
            at = first
            while not stop.is_set():
                try:
                    upload(server, cookie, at, told)
                except (OSError, http.client.HTTPException):
                    return
                at += 3

        def change(first: int, stop: threading.Event = stop) -> None:
            at = first
            with contextlib.suppress(OSError, http.client.HTTPException):
                if first % 3000 == 0:
                    keep_snapshot(server, cookie, told)
                while not stop.is_set():
                    save(server, cookie, public_id, at, told)
                    at += 1

        threads = [threading.Thread(target=work, args=(number + lane,)) for lane in range(2)]
        threads.append(threading.Thread(target=change, args=(number,)))
        for thread in threads:
            thread.start()
        if round_ % 4 == 3:
            # Snapshots are taken while writes go on, and killed too.
            subprocess.Popen(
                [sys.executable, "manage.py", "snapshot", "--home", str(home)], cwd=ROOT,
                env={**os.environ, **(environ or {}), "KISTBOOK_FAULT": "snapshot-half"},
                stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            )  # fmt: skip
        time.sleep(chance.uniform(0.05, 0.8) * (1 if round_ < kills else 4))
        server.kill()
        stop.set()
        for thread in threads:
            thread.join()
        server.start(fault=chance.choice(FAULTS) if round_ % 5 == 2 else "")
        if round_ % 5 == 2:
            # A server with a fault point ends itself at the first upload; that is a kill as well.
            with contextlib.suppress(OSError, http.client.HTTPException):
                upload(server, cookie, number + 900, told)
            server.kill()
            server.start()
    server.close()
    return compare(home, told) | {"kills": round_ + 1}


def compare(home: Path, told: Told) -> dict[str, int]:
    """Return how many told writes are missing, rows without a whole file, and faults of the database."""
    connection = sqlite3.connect(home / "kistbook.sqlite3")
    titles = {row[0] for row in connection.execute("SELECT title FROM archive_thing")}
    rows = [row[0] for row in connection.execute("SELECT sha256 FROM archive_picture")]
    whole = connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    loose = len(connection.execute("PRAGMA foreign_key_check").fetchall())
    caption = connection.execute("SELECT caption FROM archive_picture ORDER BY id LIMIT 1").fetchone()[0]
    connection.close()
    # A save that was cut off before its answer may stand; an answered one may not be gone.
    caption_lost = int(int(caption.rpartition(" ")[2] or -1) < told.caption)
    kept = [path for path in (home / "snapshots").glob("*.sqlite3") if _is_sound(path)]
    torn = len(list((home / "snapshots").glob("*.sqlite3"))) - len(kept)
    without_file = sum(not _is_whole(home, digest) for digest in rows)
    lost = sum(title not in titles for title in told.titles) + sum(not _is_whole(home, d) for d in told.digests)
    lost += caption_lost + max(0, told.snapshots - len(kept))
    return {
        "told": len(told.titles), "saves": told.saves, "snapshots": told.snapshots, "torn_snapshots": torn,
        "lost": lost, "rows": len(rows), "rows_without_file": without_file,
        "broken_database": int(not whole), "loose_rows": loose,
    }  # fmt: skip


def _is_sound(path: Path) -> bool:
    connection = sqlite3.connect(path)
    try:
        return bool(connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok")
    except sqlite3.DatabaseError:
        return False
    finally:
        connection.close()


def _is_whole(home: Path, digest: str) -> bool:
    path = home / "media" / digest[:2] / digest
    return path.is_file() and hashlib.sha256(path.read_bytes()).hexdigest() == digest
