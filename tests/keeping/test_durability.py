"""Short forms of what tests/bench/ground measures at length: kills, writers in both modes, start and Ctrl-C."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.keeping.harness import ROOT, Server, Told, run_kills, upload
from tests.keeping.upgrade_kills import run_upgrade_kills

BAD = ("lost", "rows_without_file", "torn_snapshots", "broken_database", "loose_rows")

WRITERS = """
import os, sys, threading
os.environ["KISTBOOK_HOME"] = sys.argv[1]
sys.path.insert(0, ".")
import django
os.environ["DJANGO_SETTINGS_MODULE"] = "archive.settings"
django.setup()
from django.db import connection
from archive.keeping import opening
opening.prepare_folder()
opening.open_archive(lambda words: None)
from archive.access.actions import make_account
from archive.preferences.queries import preferences
from archive.things.actions import add_thing, edit_thing
from archive.things.models import Thing
keeper = make_account("k", "K", "three words in row", "keeper")
kept, errors, each = preferences(), [], int(sys.argv[2])
def work(lane):
    try:
        mine = add_thing(keeper, {"title": f"lane {lane}", "kind_code": "letter"}, [], kept)
        for n in range(each - 1):
            if n % 3 == 0:
                add_thing(keeper, {"title": f"{lane} {n}", "kind_code": "letter"}, [], kept)
            else:
                edit_thing(keeper, Thing.objects.get(pk=mine.pk), {"note": f"{n}"}, kept)
    except Exception as error:
        errors.append(repr(error))
    finally:
        connection.close()
threads = [threading.Thread(target=work, args=(lane,)) for lane in range(20)]
[t.start() for t in threads]; [t.join() for t in threads]
serials = list(Thing.objects.values_list("serial_id", flat=True))
connection.check_pragmas()
assert len(serials) == len(set(serials)) == 20 * (1 + len(range(0, each - 1, 3))), len(serials)
print("errors", len(errors), errors[:2])
"""


@pytest.mark.parametrize("mode", ["newer", "older"])
def test_twenty_writers_at_once_lose_nothing(mode: str, tmp_path: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-c", WRITERS, str(tmp_path), "10"], cwd=ROOT, capture_output=True, text=True,
        env={**os.environ, "KISTBOOK_SQLITE_MODE": mode}, timeout=240,
    )  # fmt: skip
    assert run.stdout.strip().startswith("errors 0"), run.stdout + run.stderr[-2000:]


@pytest.mark.parametrize("mode", ["newer", "older"])
def test_kills_lose_no_acknowledged_write(mode: str, tmp_path: Path) -> None:
    result = run_kills(tmp_path, 6, 7, {"KISTBOOK_SQLITE_MODE": mode}, least_told=6)
    assert result["told"] > 5
    assert {name: result[name] for name in BAD} == dict.fromkeys(BAD, 0)


def test_upgrades_killed_at_random_end_old_or_new(tmp_path: Path) -> None:
    result = run_upgrade_kills(tmp_path, 4, 7)
    assert {name: result[name] for name in ("lost", "half", "broken_database")} == {
        "lost": 0, "half": 0, "broken_database": 0,
    }  # fmt: skip


def test_start_serves_holds_the_archive_and_ends_clean(tmp_path: Path) -> None:
    server = Server(tmp_path)
    server.start()
    second = subprocess.run(
        [sys.executable, "manage.py", "start", "--home", str(tmp_path)], cwd=ROOT, capture_output=True, text=True
    )
    assert second.returncode != 0 and "is in use" in second.stderr and str(server.port) in second.stderr
    demo = subprocess.run(
        [sys.executable, "manage.py", "start", "--demo", "--home", str(tmp_path)],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert demo.returncode != 0 and "own archive" in demo.stderr
    assert server.close() == 0
    assert not (tmp_path / "lock.who").exists()
    assert any(path.name.startswith("Start Kistbook") for path in tmp_path.iterdir())


def test_an_archive_of_an_earlier_commit_is_brought_up_to_date(tmp_path: Path) -> None:
    """The stored archive was written by the first migration's code; it opens, and a snapshot is kept where needed."""
    import shutil
    import sqlite3

    shutil.copy(ROOT / "tests" / "keeping" / "first-archive.sqlite3", tmp_path / "kistbook.sqlite3")
    server = Server(tmp_path)
    server.start()
    assert server.close() == 0
    connection = sqlite3.connect(tmp_path / "kistbook.sqlite3")
    titles = [row[0] for row in connection.execute("SELECT title FROM archive_thing ORDER BY id")]
    version = connection.execute("SELECT version FROM archive_archiveinfo").fetchone()[0]
    assert titles == ["A letter kept since the beginning"] and version


def test_a_snapshot_is_put_back_from_the_page(tmp_path: Path) -> None:
    """The keeper asks on a page; the server closes, puts the snapshot back, and opens again by itself."""
    import re
    import time
    from urllib.parse import urlencode

    server, told = Server(tmp_path), Told()
    server.start()
    cookie = server.make_keeper()
    upload(server, cookie, 1, told)

    def send(path: str, page: str) -> int:
        _, body, fresh = server.get(page, cookie)
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', body)
        assert token, body[:300]
        fields = urlencode({"csrfmiddlewaretoken": token[1]}).encode()
        kind = "application/x-www-form-urlencoded"
        return server.post(path, fields, kind, "; ".join(filter(None, (cookie, fresh))))[0]

    assert send("/keeping/snapshot/", "/keeping/") == 302
    upload(server, cookie, 2, told)
    assert told.titles == ["Harness thing 1", "Harness thing 2"]
    (name,) = {path.name for path in (tmp_path / "snapshots").glob("*by-hand*.sqlite3")}
    assert send(f"/keeping/restore/{name}/", f"/keeping/restore/{name}/") == 202
    for _ in range(200):
        time.sleep(0.1)
        try:
            status, body, _ = server.get("/things/", cookie)
        except OSError:
            continue
        if status == 200 and "Harness thing 2" not in body:
            break
    assert "Harness thing 1" in body and "Harness thing 2" not in body
    assert list(tmp_path.glob("kistbook-before-restore-*.sqlite3"))
    assert server.close() == 0
