"""Restores and upgrades that are cut off or fail: the archive stands as before or as after, never between."""

from __future__ import annotations

import http.client
import os
import re
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from urllib.parse import urlencode

import pytest

from tests.keeping.harness import ROOT, Server


def manage(home: Path, *words: str, **environ: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "manage.py", *words, "--home", str(home)], cwd=ROOT, capture_output=True, text=True,
        env={**os.environ, **environ}, timeout=120,
    )  # fmt: skip


OPEN = """
import os, sys
sys.path.insert(0, ".")
os.environ["KISTBOOK_HOME"], os.environ["DJANGO_SETTINGS_MODULE"] = sys.argv[1], "archive.settings"
import django
django.setup()
from archive.keeping import opening
try:
    opening.prepare_folder()
    opening.carry_out_restore(print)
    opening.open_archive(print)
except opening.CannotOpen as error:
    sys.exit(f"CannotOpen: {error}")
"""


def open_archive(home: Path, **environ: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", OPEN, str(home)], cwd=ROOT, capture_output=True, text=True,
        env={**os.environ, **environ}, timeout=120,
    )  # fmt: skip


def set_name(database: Path, name: str) -> None:
    with sqlite3.connect(database) as connection:
        connection.execute("UPDATE archive_archiveinfo SET version = ?", (name,))
    connection.close()


def name_in(database: Path) -> str:
    connection = sqlite3.connect(database)
    try:
        return str(connection.execute("SELECT version FROM archive_archiveinfo").fetchone()[0])
    finally:
        connection.close()


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("made") / "Ærchive of ours"
    answer = open_archive(home)
    assert answer.returncode == 0, answer.stderr
    return home


@pytest.fixture
def archive(made: Path, tmp_path: Path) -> Path:
    import shutil

    home = tmp_path / "Ærchive of ours"
    shutil.copytree(made, home)
    return home


@pytest.mark.parametrize("mode", ["newer", "older"])
@pytest.mark.parametrize(
    ("fault", "expected"),
    [("restore-copied", "after"), ("restore-aside", "after"), ("restore-switched", "before"), ("", "before")],
)
def test_a_restore_that_is_killed_leaves_one_whole_archive(archive: Path, fault: str, expected: str, mode: str) -> None:
    database = archive / "kistbook.sqlite3"
    set_name(database, "before")
    assert "Kept" in manage(archive, "snapshot", KISTBOOK_SQLITE_MODE=mode).stdout
    (snapshot,) = (archive / "snapshots").glob("*.sqlite3")
    set_name(database, "after")
    killed = manage(archive, "restore", snapshot.name, KISTBOOK_FAULT=fault, KISTBOOK_SQLITE_MODE=mode)
    assert killed.returncode == (137 if fault else 0), killed.stderr
    assert name_in(database) == expected
    assert manage(archive, "check_archive").returncode == 0
    opened = open_archive(archive, KISTBOOK_SQLITE_MODE=mode)
    assert opened.returncode == 0, opened.stderr
    # What is kept aside is a file of its own, not a second name of the archive in use.
    assert all(not path.samefile(database) for path in archive.glob("kistbook-before-restore-*"))
    assert list(archive.glob("*.restoring")) == []


def test_a_restore_asked_for_by_the_page_is_done_again_after_a_kill(archive: Path) -> None:
    database = archive / "kistbook.sqlite3"
    set_name(database, "before")
    manage(archive, "snapshot")
    (snapshot,) = (archive / "snapshots").glob("*.sqlite3")
    set_name(database, "after")
    (archive / "restore-asked").write_text(snapshot.name)
    assert open_archive(archive, KISTBOOK_FAULT="restore-aside").returncode == 137
    answer = open_archive(archive)
    assert answer.returncode == 0 and "Put back the snapshot of" in answer.stdout
    assert not (archive / "restore-asked").exists()
    aside = [path for path in archive.glob("kistbook-before-restore-*.sqlite3") if name_in(path) == "after"]
    assert aside


def test_a_damaged_database_is_not_opened_and_a_snapshot_helps(archive: Path) -> None:
    database = archive / "kistbook.sqlite3"
    assert manage(archive, "snapshot").returncode == 0
    (snapshot,) = (archive / "snapshots").glob("*.sqlite3")
    data = bytearray(database.read_bytes())
    data[4096:12288] = b"\xff" * 8192
    database.write_bytes(bytes(data))
    refused = open_archive(archive)
    assert "damaged" in refused.stderr and "manage.py restore" in refused.stderr
    assert database.read_bytes() == bytes(data)
    assert manage(archive, "restore", snapshot.name).returncode == 0
    assert open_archive(archive).returncode == 0
    (aside,) = archive.glob("kistbook-before-restore-*.sqlite3")
    assert aside.read_bytes() == bytes(data)


def test_a_record_that_is_gone_is_not_begun_anew_over_its_snapshots(archive: Path) -> None:
    assert manage(archive, "snapshot").returncode == 0
    (archive / "kistbook.sqlite3").unlink()
    refused = open_archive(archive)
    assert refused.returncode != 0 and "missing" in refused.stderr and "manage.py restore" in refused.stderr
    assert not (archive / "kistbook.sqlite3").exists() or (archive / "kistbook.sqlite3").stat().st_size == 0
    (snapshot,) = (archive / "snapshots").glob("*.sqlite3")
    assert manage(archive, "restore", snapshot.name).returncode == 0
    assert open_archive(archive).returncode == 0


def test_a_snapshot_of_newer_code_is_not_put_back(archive: Path) -> None:
    manage(archive, "snapshot")
    (snapshot,) = (archive / "snapshots").glob("*.sqlite3")
    with sqlite3.connect(snapshot) as connection:
        connection.execute(
            "INSERT INTO django_migrations (app, name, applied) VALUES ('archive', '0999_later', '2030-01-01')"
        )
    connection.close()
    refused = manage(archive, "restore", snapshot.name)
    assert refused.returncode != 0 and "newer Kistbook" in refused.stderr
    assert open_archive(archive).returncode == 0


def test_an_upgrade_that_fails_leaves_the_archive_as_it_was(archive: Path) -> None:
    """A change of the tables that was run once already fails the second time: its table is there."""
    database = archive / "kistbook.sqlite3"
    with sqlite3.connect(database) as connection:
        connection.execute("DELETE FROM django_migrations WHERE app = 'sessions'")
    connection.close()
    set_name(database, "as it was")
    before = _rows(database)
    failed = open_archive(archive)
    assert "CannotOpen" in failed.stderr and "stands as it did before" in failed.stderr
    assert _rows(database) == before and name_in(database) == "as it was"


def _rows(database: Path) -> dict[str, list[tuple[object, ...]]]:
    """All rows of all tables, with the tables' definitions."""
    connection = sqlite3.connect(database)
    try:
        tables = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'table' ORDER BY name").fetchall()
        return {sql: connection.execute(f'SELECT * FROM "{name}"').fetchall() for name, sql in tables}  # noqa: S608
    finally:
        connection.close()


@pytest.mark.parametrize("fault", ["before-migrate", "migrated"])
def test_a_first_start_that_is_killed_is_gone_on_from(tmp_path: Path, fault: str) -> None:
    home = tmp_path / "new"
    assert open_archive(home, KISTBOOK_FAULT=fault).returncode == 137
    answer = open_archive(home)
    assert answer.returncode == 0, answer.stderr
    assert name_in(home / "kistbook.sqlite3")


def test_a_first_start_that_was_killed_while_making_its_tables(tmp_path: Path) -> None:
    """What is left then is a database file with a header and no table; it is not taken for somebody else's."""
    home = tmp_path / "new"
    home.mkdir()
    with sqlite3.connect(home / "kistbook.sqlite3") as connection:
        connection.execute("PRAGMA journal_mode=WAL")
    connection.close()
    answer = open_archive(home)
    assert answer.returncode == 0, answer.stderr


def test_the_page_puts_a_snapshot_back_and_opens_again_on_the_same_port(tmp_path: Path) -> None:
    server = Server(tmp_path)
    server.start()
    cookie = server.make_keeper()
    kept = http.client.HTTPConnection("127.0.0.1", server.port, timeout=20)  # a browser holds its connection open
    kept.request("GET", "/sign-in/")
    kept.getresponse().read()

    def press(path: str, page: str) -> int:
        _, body, fresh = server.get(page, cookie)
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', body)
        assert token, body[:500]
        form = urlencode({"csrfmiddlewaretoken": token[1], "form_id": f"f{time.monotonic()}"}).encode()
        cookies = "; ".join(each for each in (cookie, fresh) if each)
        return server.post(path, form, "application/x-www-form-urlencoded", cookies)[0]

    assert press("/keeping/snapshot/", "/keeping/") == 302
    (snapshot,) = (tmp_path / "snapshots").glob("*by-hand*.sqlite3")
    with sqlite3.connect(tmp_path / "kistbook.sqlite3") as connection:
        connection.execute("UPDATE archive_account SET display_name = 'changed later'")
    connection.close()
    note = (tmp_path / "lock.who").read_text()
    address = f"/keeping/restore/{snapshot.name}/"
    assert press(address, address) == 202
    deadline = time.monotonic() + 30
    while True:
        assert time.monotonic() < deadline, "it did not open again"
        time.sleep(0.2)
        try:
            if (tmp_path / "lock.who").read_text() != note and server.get("/sign-in/")[0] == 200:
                break
        except OSError:
            continue
    connection = sqlite3.connect(tmp_path / "kistbook.sqlite3")
    assert connection.execute("SELECT display_name FROM archive_account").fetchone() == ("K",)
    connection.close()
    assert list((tmp_path / "snapshots").glob("*before-restore*"))
    kept.close()
    assert server.close() == 0
