"""Places that are unsafe, files that systems start programs by, logs without names, sums in a child, bodies let go."""

from __future__ import annotations

import logging
import plistlib
import re
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse
from waitress.adjustments import Adjustments

from archive.keeping import autostart, bodies, media_store, places
from archive.keeping.errands import child
from archive.keeping.logs import WithoutNames

# -- places ---------------------------------------------------------------------------------------------------------

LINUX = """/dev/sda1 / ext4 rw,relatime 0 0
nas:/home /mnt/family\\040pictures nfs4 rw 0 0
//nas/share /mnt/win cifs rw 0 0
tmpfs /mnt/family tmpfs rw 0 0
"""
# As `mount` prints on macOS.
DARWIN = """/dev/disk3s1s1 on / (apfs, sealed, local, read-only, journaled)
/dev/disk3s5 on /System/Volumes/Data (apfs, local, journaled, nobrowse)
//kaja@nas._smb._tcp.local/family on /Volumes/family (smbfs, nodev, nosuid, mounted by kaja)
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [("/home/k/Kistbook", "ext4"), ("/mnt/family pictures/Kistbook", "nfs4"), ("/mnt/win", "cifs"),
     ("/mnt/family/a", "tmpfs"), ("/mnt/winter", "ext4")],
)  # fmt: skip
def test_the_file_system_of_a_folder_on_linux(folder: str, kind: str) -> None:
    assert places.file_system(Path(folder), places.linux_mounts(LINUX)) == kind


def test_the_file_system_of_a_folder_on_macos() -> None:
    mounted = places.darwin_mounts(DARWIN)
    assert places.file_system(Path("/Volumes/family/Kistbook"), mounted) == "smbfs"
    assert places.file_system(Path("/Users/kaja/Kistbook"), mounted) == "apfs"


def test_folders_that_programs_copy_about_are_known_by_name() -> None:
    for name in ("Dropbox", "OneDrive - Family", "Google Drive", "iCloudDrive"):
        assert places.is_copied_about(Path("/home/k") / name / "Kistbook")
    assert not places.is_copied_about(Path("/home/k/Kistbook"))


# -- starting by a double click, or at log-in -----------------------------------------------------------------------

AWKWARD = Path('/home/k/Our "old" things & $HOME, 100 % \\ done')


def test_the_launch_agent_is_read_back_as_the_command() -> None:
    _, text = autostart.autostart_file(Path("/Users/k"), AWKWARD, "darwin")
    entry = plistlib.loads(text.encode())
    assert entry["ProgramArguments"] == autostart.start_command(AWKWARD) and entry["RunAtLoad"] is True


def test_the_desktop_entry_quotes_as_the_specification_says() -> None:
    """Desktop Entry Specification 1.5, "The Exec key": in a quoted argument a literal dollar sign is written ``\\\\$``,
    a literal backslash as four backslashes; a per cent sign is doubled."""
    _, text = autostart.autostart_file(Path("/home/k"), AWKWARD, "linux")
    (line,) = re.findall(r"^Exec=(.*)$", text, re.MULTILINE)
    assert r'"/home/k/Our \\"old\\" things & \\$HOME, 100 %% \\\\ done"' in line
    assert line.startswith(f'"{sys.executable}" "')


def test_the_batch_file_reads_any_letter_and_doubles_the_per_cent_sign() -> None:
    _, text = autostart.launcher(Path("C:/Users/Ærø/100 %"), "win32")
    assert text.startswith("@echo off\r\nchcp 65001 >nul\r\n") and "100 %%" in text and "\n\n" not in text


# -- logs -----------------------------------------------------------------------------------------------------------


def test_what_an_exception_says_is_not_logged_but_where_and_which_is() -> None:
    try:
        try:
            raise ValueError("Aunt Ragna's diary")
        except ValueError as error:
            raise KeyError("Ragna") from error
    except KeyError:
        record = logging.LogRecord("kistbook", logging.ERROR, "f", 1, "failed: %s", ("'Ragna'",), sys.exc_info())
    text = WithoutNames("%(message)s").format(record)
    assert "Ragna" not in text and str(Path.home()) not in text
    assert "\nValueError\nwhich led to\n" in text and text.endswith("\nKeyError")
    assert re.search(r"  tests/keeping/test_small_parts\.py:\d+ in test_what", text)


def test_the_machine_may_speak_in_the_log() -> None:
    try:
        raise OSError(28, "No space left on device", "/home/ragna/Kistbook/incoming/x")
    except OSError:
        record = logging.LogRecord("kistbook", logging.ERROR, "f", 1, "failed", (), sys.exc_info())
    text = WithoutNames("%(message)s").format(record)
    assert text.endswith("OSError: ENOSPC") and "ragna" not in text


# -- sums in a child ------------------------------------------------------------------------------------------------


def test_a_sum_in_a_child_process_answers_as_the_door_does() -> None:
    """0214-6: the check character by ISO 7064 MOD 11-2."""
    assert child.work_out("number", {"serial": 214})["number"] == "0214-6"


@pytest.mark.parametrize(
    ("limits", "error"),
    [({"seconds": 0.01}, child.TookTooLong), ({"memory_mb": 60}, child.TookTooMuch),
     ({"should_stop": lambda: True}, child.SumStopped)],
)  # fmt: skip
def test_a_sum_is_ended_at_its_limits(limits: dict[str, Any], error: type[Exception]) -> None:
    began = time.monotonic()
    with pytest.raises(error):
        child.work_out("number", {"serial": 214}, **limits)
    assert time.monotonic() - began < 10


def test_a_sum_that_is_refused_says_which_field() -> None:
    with pytest.raises(child.SumRefused, match="serial"):
        child.work_out("number", {"serial": "many"})


# -- bodies that are let go -----------------------------------------------------------------------------------------


def parse(head: str, *pieces: bytes) -> Any:
    parser = bodies.Parser(Adjustments())
    parser.received(f"POST / HTTP/1.1\r\nHost: h\r\n{head}\r\n\r\n".encode())
    for piece in pieces:
        parser.received(piece)
    return parser


@pytest.fixture
def limit(settings: Any, home: Path, monkeypatch: pytest.MonkeyPatch) -> int:
    settings.UPLOAD_LIMIT_BYTES = 1000
    monkeypatch.setattr(bodies, "room_bytes", lambda: 10**9)
    return 1000


def test_a_body_within_the_limit_arrives(limit: int) -> None:
    parser = parse("Content-Length: 1000\r\nKistbook-Refused: room", b"a" * 600, b"b" * 400)
    assert parser.completed and parser.get_body_stream().read() == b"a" * 600 + b"b" * 400
    assert "KISTBOOK_REFUSED" not in parser.headers  # nobody outside may say so


@pytest.mark.parametrize("head", ["Content-Length: 1001", "Transfer-Encoding: chunked"])
def test_a_body_over_the_limit_is_read_to_its_end_and_let_go(limit: int, head: str) -> None:
    pieces = [b"a" * 501, b"b" * 500] if "Length" in head else [b"3e9\r\n" + b"a" * 1001 + b"\r\n", b"0\r\n\r\n"]
    parser = parse(head, *pieces)
    assert parser.completed and parser.error is None
    assert parser.headers["KISTBOOK_REFUSED"] == "large" and parser.headers["CONTENT_LENGTH"] == "0"
    assert parser.get_body_stream().read() == b""


def test_a_disk_that_fills_up_in_the_middle_of_a_body(limit: int, monkeypatch: pytest.MonkeyPatch) -> None:
    from waitress.buffers import OverflowableBuffer

    def full(self: Any, data: bytes) -> None:
        raise OSError(28, "No space left on device")

    parser = parse("Content-Length: 900", b"a" * 500)
    monkeypatch.setattr(OverflowableBuffer, "append", full)
    parser.received(b"b" * 400)
    assert parser.completed and parser.headers["KISTBOOK_REFUSED"] == "room"


@pytest.mark.django_db
@pytest.mark.parametrize(("why", "status", "words"), [("room", 507, "disk is full"), ("large", 413, "768 MB")])
def test_what_was_let_go_gets_a_page_that_says_so(as_keeper: Any, why: str, status: int, words: str) -> None:
    answer = as_keeper.post(reverse("things:add"), {}, headers={"Kistbook-Refused": why})
    assert answer.status_code == status and words in answer.content.decode()


# -- pages ----------------------------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_a_busy_database_gets_a_page_that_says_to_wait(as_keeper: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from django.db import OperationalError

    def busy(*_: Any) -> None:
        raise OperationalError("database is locked")

    monkeypatch.setattr("archive.things.queries.list_page", busy)
    answer = as_keeper.get(reverse("things:list"))
    assert answer.status_code == 503 and "Nothing of this was saved" in answer.content.decode()


@pytest.mark.django_db
def test_the_keeper_has_the_whole_archive_read_again_and_the_page_says_what_came_of_it(
    as_keeper: Any, make_thing: Any, home: Path
) -> None:
    import sqlite3

    from archive.keeping.errands.worker import Worker
    from archive.keeping.models import Errand

    with sqlite3.connect(home / "kistbook.sqlite3") as database:  # the file whose soundness is looked at
        database.execute("CREATE TABLE django_migrations (app TEXT, name TEXT)")
    database.close()
    digest = make_thing(pictures=2).pictures.first().sha256
    asked = as_keeper.post(reverse("keeping:check"))
    assert as_keeper.post(reverse("keeping:check")).url == asked.url and Errand.objects.count() == 1
    path = media_store.original_path(digest)
    path.chmod(0o600)
    path.write_bytes(b"rotten")
    assert Worker().run_one()
    page = as_keeper.get(asked.url).content.decode()
    assert "2 files read, 1 of them damaged or missing" in page
    assert "1 picture file changed or missing" in as_keeper.get(reverse("keeping:health")).content.decode()


@pytest.mark.django_db
def test_upkeep_stops_when_somebody_asks_and_goes_on_later(make_thing: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from archive.keeping import upkeep
    from archive.keeping.models import FileCheck, UpkeepRun

    make_thing(pictures=3)
    monkeypatch.setattr(upkeep, "OUR_WORK", tuple(each for each in upkeep.OUR_WORK if "originals" in each[0]))
    monkeypatch.setattr(upkeep, "_last_request", time.monotonic() - 61)
    real = upkeep.checking.reread

    def interrupted(digest: str) -> bool:
        upkeep.note_request()
        return real(digest)

    monkeypatch.setattr(upkeep.checking, "reread", interrupted)
    assert "reading originals again" not in upkeep.run_due() and FileCheck.objects.count() == 1
    assert not UpkeepRun.objects.filter(name="reading originals again").exists()
    assert upkeep.run_due() == []  # nobody may be kept waiting
    monkeypatch.setattr(upkeep.checking, "reread", real)
    assert "reading originals again" in upkeep.run_due(at_once=True) and FileCheck.objects.count() == 3


@pytest.mark.django_db
def test_upkeep_that_fails_stays_due_and_is_told(keeper: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from archive.keeping import upkeep
    from archive.keeping.models import UpkeepRun

    def failing(go_on: Any) -> bool:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(upkeep, "OUR_WORK", (("daily snapshot", failing, upkeep._DAY),))
    upkeep.run_due(at_once=True)
    assert UpkeepRun.objects.get(name="daily snapshot").trouble == "OSError"
    assert "daily snapshot" not in [name for name, _ in upkeep.due_work()]  # not every two seconds
    monkeypatch.setattr(upkeep, "_not_before", {})
    assert "daily snapshot" in [name for name, _ in upkeep.due_work()]


@pytest.mark.django_db
def test_a_size_that_a_power_cut_left_empty_or_that_was_deleted_is_made_anew(as_keeper: Any, make_thing: Any) -> None:
    from archive.pictures.thumbnails import size_path

    picture = make_thing(pictures=1).pictures.get()
    path = size_path(media_store.derived_folder(picture.sha256), 320)
    address, whole = reverse("pictures:size", args=[picture.public_id, 320]), path.read_bytes()
    path.write_bytes(b"")
    assert b"".join(as_keeper.get(address).streaming_content) == whole
    path.unlink()
    assert b"".join(as_keeper.get(address).streaming_content) == whole
