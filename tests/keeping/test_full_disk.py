"""A real disk of a few megabytes that fills up under a running server, and grows again without a restart."""

from __future__ import annotations

import contextlib
import errno
import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.keeping.harness import ROOT, Server, Told, compare, press, save, upload

MEGABYTE = 1 << 20
NOTHING_WRONG = {"lost": 0, "rows_without_file": 0, "torn_snapshots": 0, "broken_database": 0, "loose_rows": 0}


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path | None]:
    """A disk of 24 MB, or None where this computer lets nobody mount one."""
    place = tmp_path / "disk"
    place.mkdir()
    options = ["-t", "tmpfs", "-o", "size=24m", "tmpfs", str(place)]
    if subprocess.run(["mount", *options], capture_output=True, check=False).returncode != 0:
        yield None
        return
    yield place
    subprocess.run(["umount", "--lazy", str(place)], check=False)


def test_a_disk_that_fills_up(disk: Path | None, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if disk is None:
        _simulated(home, monkeypatch)
        return
    server, told = Server(disk / "Kistbook"), Told()
    server.start()
    cookie = server.make_keeper()
    status, number = 302, 0
    while status == 302:
        number += 1
        status = upload(server, cookie, number, told, os.urandom(700_000))
        assert number < 40, "the disk never filled up"
    # Refused in words while the reserve is left; what was told stands.
    assert status == 507 and len(told.titles) == number - 1 > 10
    # A body that would not fit is let go on its way in, and answered.
    assert upload(server, cookie, 1000, told, os.urandom(3 * MEGABYTE)) == 507
    filler = disk / "somebody else's file"
    with contextlib.suppress(OSError), filler.open("wb", buffering=0) as file:
        while file.write(bytes(4096)):
            pass
    # Not one byte is left. Saves still go into what the write-ahead log has, and then the page says so.
    with sqlite3.connect(server.home / "kistbook.sqlite3") as connection:
        public_id = connection.execute("SELECT public_id FROM archive_picture ORDER BY id").fetchone()[0]
    connection.close()
    status, number = 302, -1
    while status == 302:
        number += 1
        status = save(server, cookie, public_id, number, told)
        assert number < 5000, "the database never filled up"
    assert status == 507 and told.caption == number - 1
    assert server.get("/things/", cookie)[0] == 200 and server.get(f"/pictures/{public_id}/320/", cookie)[0] == 200
    server.kill()
    _start_on_a_full_disk(server, cookie)
    filler.unlink()
    server.start()
    filler.write_bytes(b"")
    # Room again: everything goes on without a restart.
    filler.unlink()
    subprocess.run(["mount", "-o", "remount,size=64m", str(disk)], check=True)
    assert save(server, cookie, public_id, 10_000, told) == 302
    assert upload(server, cookie, 2000, told, os.urandom(700_000)) == 302
    assert press(server, cookie, "/keeping/", "/keeping/snapshot/") == 302
    assert server.close() == 0
    found = compare(server.home, told)
    assert {name: found[name] for name in NOTHING_WRONG} == NOTHING_WRONG


def _start_on_a_full_disk(server: Server, cookie: str) -> None:
    """It opens for looking where the log has room for what opening writes; else it says so in words."""
    process = subprocess.Popen(
        [sys.executable, "manage.py", "start", "--home", str(server.home), "--port", str(server.port)], cwd=ROOT,
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    for _ in range(300):
        with contextlib.suppress(OSError):
            assert server.get("/things/", cookie)[0] == 200
            process.kill()
            process.communicate()
            return
        if process.poll() is not None:
            break
        time.sleep(0.1)
    process.kill()
    _, words = process.communicate()
    assert "is full" in words and "Traceback" not in words and "damaged" not in words


def _simulated(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same answer of the disk, given in its place."""
    from archive.keeping import fatal, media_store

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(fatal.NoRoom):
        media_store.receive([b"data"], 10**9)
    monkeypatch.undo()
    assert list((home / "incoming").iterdir()) == [] and not fatal.is_broken()
    assert media_store.publish(media_store.receive([b"data"], 10**9))
