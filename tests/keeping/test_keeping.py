"""Snapshots, restore, the lock, opening, errands, autostart, the disk that fails."""

from __future__ import annotations

import errno
import shutil
import sqlite3
import threading
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from archive.keeping import autostart, fatal, media_store, opening, snapshots
from archive.keeping.home import DataFolder, choose_home, data_folder
from archive.keeping.lock import ArchiveLock, HeldElsewhere
from tests.conftest import jpeg


def test_the_data_folder_is_chosen_before_the_settings_are_read(tmp_path: Path) -> None:
    environ: dict[str, str] = {}
    choose_home(["manage.py", "start", "--home", str(tmp_path), "--demo"], environ)
    assert data_folder(environ).root == tmp_path
    assert data_folder({"KISTBOOK_DEMO": "1"}).root.name == "Kistbook demo"
    assert data_folder({}).root == Path.home() / "Kistbook"


@given(st.lists(st.integers(0, 500), max_size=60))
def test_thinning_keeps_a_week_of_days_a_month_of_weeks_a_year_of_months(ages: list[int]) -> None:
    today = date(2026, 11, 25)
    times = {datetime(2026, 11, 25, 3, tzinfo=UTC) - timedelta(days=age, minutes=age) for age in ages}
    kept = snapshots.kept(times, today)
    assert kept <= times and len(kept) <= 7 + 4 + 12 + 1
    if times:
        assert max(times) in kept
    for at in times:
        if (today - at.date()).days < 7:
            assert any(other.date() == at.date() for other in kept)
    assert snapshots.kept(kept, today) == kept  # thinning twice is thinning once


@pytest.fixture
def archive_file(home: Path) -> Path:
    """A small database with the table by which an archive is known."""
    path = home / "kistbook.sqlite3"
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE django_migrations (id INTEGER PRIMARY KEY, app TEXT, name TEXT)")
        connection.execute("CREATE TABLE words (word TEXT)")
        connection.execute("INSERT INTO words VALUES ('before')")
    connection.close()
    return path


def test_restore_puts_a_snapshot_back_and_keeps_what_stood(archive_file: Path) -> None:
    taken = snapshots.take_snapshot("by-hand")
    with sqlite3.connect(archive_file) as connection:
        connection.execute("UPDATE words SET word = 'after'")
    connection.close()
    Path(f"{archive_file}-wal").write_bytes(b"a stray log")
    aside = snapshots.restore(taken)
    assert sqlite3.connect(archive_file).execute("SELECT word FROM words").fetchone() == ("before",)
    assert sqlite3.connect(aside).execute("SELECT word FROM words").fetchone() == ("after",)
    assert not Path(f"{archive_file}-wal").exists()


def test_a_damaged_snapshot_is_refused_and_changes_nothing(archive_file: Path) -> None:
    taken = snapshots.take_snapshot()
    taken.path.write_bytes(taken.path.read_bytes()[:3000] + b"rubbish" * 200)
    with pytest.raises(snapshots.BadSnapshot):
        snapshots.restore(taken)
    assert sqlite3.connect(archive_file).execute("SELECT word FROM words").fetchone() == ("before",)


def test_one_process_holds_an_archive_and_the_second_is_told_who(home: Path) -> None:
    first = ArchiveLock(DataFolder(home))
    first.take()
    first.tell("http://127.0.0.1:8350/")
    caught: list[str] = []

    def second() -> None:
        try:
            ArchiveLock(DataFolder(home)).take()
        except HeldElsewhere as error:
            caught.append(str(error))

    thread = threading.Thread(target=second)
    thread.start()
    thread.join()
    first.give_back()
    assert caught and "8350" in caught[0] and str(home) in caught[0]


@pytest.mark.django_db
def test_an_archive_from_newer_code_is_refused(keeper: Any) -> None:
    from django.db.migrations.recorder import MigrationRecorder

    MigrationRecorder.Migration.objects.create(app="archive", name="0999_from_the_future")
    with pytest.raises(opening.CannotOpen, match="newer"):
        opening.open_archive(lambda words: None)


@pytest.mark.parametrize("name", ["Dropbox", "OneDrive"])
def test_folders_that_are_copied_about_are_refused(name: str, settings: Any, tmp_path: Path) -> None:
    settings.DATA_FOLDER = DataFolder(tmp_path / name / "Kistbook")
    with pytest.raises(opening.CannotOpen, match="copies about"):
        opening.prepare_folder()


@pytest.mark.django_db
def test_errands_go_on_after_a_kill_stop_when_asked_and_say_when_they_fail(keeper: Any) -> None:
    from archive.keeping.actions import ask_stop, send_errand
    from archive.keeping.errands.registry import register
    from archive.keeping.errands.worker import Task, Worker
    from archive.keeping.models import Errand

    seen: list[int] = []

    def count(task: Task) -> None:
        for n in range(task.payload.get("at", 0), 5):
            seen.append(n)
            task.checkpoint(at=n + 1)
            task.progress(n + 1, 5, f"{n + 1}")

    def fail(task: Task) -> None:
        raise ValueError("a secret name")

    register("test-count", count)
    register("test-fail", fail)
    half = send_errand(keeper, "test-count", "Counting", {"at": 3})
    Errand.objects.filter(pk=half.pk).update(state="running")  # as a kill leaves it
    stopped = send_errand(keeper, "test-count", "Counting", {})
    ask_stop(stopped)
    failing = send_errand(keeper, "test-fail", "Failing", {})
    worker = Worker()
    Errand.objects.filter(state="running").update(state="waiting")
    while worker.run_one():
        pass
    states = {each.pk: each for each in Errand.objects.all()}
    assert seen == [3, 4] and states[half.pk].state == "done" and states[half.pk].done == 5
    assert states[stopped.pk].state == "stopped"
    assert states[failing.pk].state == "failed" and "secret" not in states[failing.pk].message


@pytest.mark.django_db
def test_upkeep_is_done_once_a_day_and_reads_originals_again(make_thing: Any, home: Path) -> None:
    from archive.keeping import upkeep
    from archive.keeping.models import FileCheck

    thing = make_thing(pictures=2)
    with sqlite3.connect(home / "kistbook.sqlite3") as file:
        file.execute("CREATE TABLE django_migrations (app TEXT, name TEXT)")
    file.close()
    upkeep.run_due(at_once=True)
    assert FileCheck.objects.filter(good=True).count() == 2
    assert upkeep.run_due(at_once=True) == []
    bad = media_store.original_path(thing.pictures.first().sha256)
    bad.chmod(0o600)
    bad.write_bytes(b"rotten")
    FileCheck.objects.all().delete()
    assert upkeep.reread_originals(lambda: True)
    assert FileCheck.objects.get(good=False).sha256 == bad.name


@pytest.mark.parametrize(
    ("system", "where", "what"),
    [
        ("linux", ".config/autostart/kistbook.desktop", "Exec="),
        ("darwin", "Library/LaunchAgents/kistbook.plist", "<key>RunAtLoad</key>"),
        ("win32", "AppData/Roaming/Microsoft/Windows/Start Menu/Programs/Startup/Kistbook.bat", "start /min"),
    ],
)
def test_start_when_i_log_in(home: Path, tmp_path: Path, system: str, where: str, what: str) -> None:
    path = autostart.set_autostart(True, user_home=tmp_path, system=system)
    assert path == tmp_path / where
    text = path.read_text(encoding="utf-8")
    assert what in text and "manage.py" in text and str(home) in text
    autostart.set_autostart(False, user_home=tmp_path, system=system)
    assert not path.exists()


def test_originals_are_stored_once_read_only_and_unchanged(home: Path) -> None:
    data = jpeg()
    digests = {media_store.publish(media_store.receive(SimpleUploadedFile("a.jpg", data), 10**9)) for _ in range(2)}
    assert len(digests) == 1
    path = media_store.original_path(digests.pop())
    assert path.read_bytes() == data and not path.stat().st_mode & 0o222
    assert list((home / "incoming").iterdir()) == []


def test_a_file_over_the_limit_leaves_nothing(home: Path) -> None:
    with pytest.raises(media_store.TooLarge):
        media_store.receive(SimpleUploadedFile("big", b"x" * 5000), 1000)
    assert list((home / "incoming").iterdir()) == []


@pytest.mark.django_db
def test_a_full_disk_says_so_saves_nothing_and_browsing_goes_on(
    as_keeper: Any, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from archive.things.models import Thing

    full = shutil._ntuple_diskusage(10**9, 10**9, 0)  # type: ignore[attr-defined]
    monkeypatch.setattr(shutil, "disk_usage", lambda path: full)
    body = {"title": "T", "kind_code": "letter", "count": "1", "pictures": SimpleUploadedFile("a.jpg", jpeg())}
    answer = as_keeper.post(reverse("things:add"), body)
    assert answer.status_code == 507 and "disk is full" in answer.content.decode()
    assert not Thing.objects.exists() and list((home / "incoming").iterdir()) == []
    assert as_keeper.get(reverse("things:list")).status_code == 200


@pytest.mark.django_db
def test_a_failing_disk_stops_all_writes(as_keeper: Any, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(handle: int) -> None:
        raise OSError(errno.EIO, "input/output error")

    monkeypatch.setattr("os.fsync", broken)
    body = {"title": "T", "kind_code": "letter", "count": "1", "pictures": SimpleUploadedFile("a.jpg", jpeg())}
    assert as_keeper.post(reverse("things:add"), body).status_code == 503
    monkeypatch.undo()
    assert fatal.is_broken()
    assert as_keeper.post(reverse("things:add"), {"title": "U", "kind_code": "letter"}).status_code == 503
    assert as_keeper.get(reverse("things:list")).status_code == 200


@pytest.mark.django_db
def test_the_problem_report_can_be_read_and_holds_no_titles(as_keeper: Any, make_thing: Any, home: Path) -> None:
    make_thing("Aunt Ragna’s diary")
    page = as_keeper.post(reverse("keeping:report")).content.decode()
    (written,) = (home / "exports").glob("problem-report-*.txt")
    assert "SQLite" in page and "Ragna" not in written.read_text(encoding="utf-8")


@pytest.mark.django_db
def test_a_500_page_shows_a_code_that_the_log_has(
    as_keeper: Any, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    import re

    def fail(*_: Any) -> None:
        raise RuntimeError("boom")

    monkeypatch.setattr("archive.things.queries.list_page", fail)
    as_keeper.raise_request_exception = False
    import logging

    logging.getLogger("kistbook").addHandler(caplog.handler)
    answer = as_keeper.get(reverse("things:list"))
    code = re.search(r"<code>([0-9a-f]{8})</code>", answer.content.decode())
    assert answer.status_code == 500 and code and code[1] in caplog.text
