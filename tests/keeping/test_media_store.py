"""The store of originals: the order of its writes, damage healed, what is forgotten and what is never forgotten."""

from __future__ import annotations

import errno
import hashlib
import os
import sqlite3
import time
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import TemporaryUploadedFile

from archive.keeping import fatal, media_store, references, snapshots
from tests.conftest import jpeg

OLD = time.time() - 31 * 24 * 3600


def stored(data: bytes) -> str:
    return media_store.publish(media_store.receive([data], 10**9))


def test_a_file_is_flushed_before_it_is_named_and_its_folder_after(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The order of crash-safe publishing: write, fsync, rename, fsync of the folder (Pillai et al., OSDI 2014)."""
    done: list[str] = []
    flush, rename = os.fsync, Path.replace

    def recording_flush(handle: int) -> None:
        target = Path(f"/proc/self/fd/{handle}").readlink()
        done.append(f"fsync {target.parent.name if target.is_file() else 'folder ' + target.name}")
        flush(handle)

    def recording_rename(self: Path, target: Path) -> Path:
        done.append(f"rename from {self.parent.name}")
        return rename(self, target)

    monkeypatch.setattr(os, "fsync", recording_flush)
    monkeypatch.setattr(Path, "replace", recording_rename)
    digest = stored(b"one")
    assert done == ["fsync incoming", "fsync folder media", "rename from incoming", f"fsync folder {digest[:2]}"]
    done.clear()
    assert stored(b"one") == digest
    # Another upload of the same bytes may have been published but not flushed: the folder is flushed here too.
    assert done == ["fsync incoming", f"fsync folder {digest[:2]}"]


def test_an_upload_on_the_same_disk_is_not_written_twice(home: Path) -> None:
    data = jpeg()
    upload = TemporaryUploadedFile("a.jpg", "image/jpeg", len(data), None)
    upload.write(data)  # lies in the writer's buffer still
    received = media_store.receive(upload, 10**9)
    assert received.sha256 == hashlib.sha256(data).hexdigest()
    assert received.path.samefile(upload.temporary_file_path())
    digest = media_store.publish(received)
    upload.close()
    assert media_store.original_path(digest).read_bytes() == data
    assert list((home / "incoming").iterdir()) == []


def test_a_damaged_original_is_healed_by_sending_it_again(home: Path) -> None:
    path = media_store.original_path(stored(b"the whole file"))
    for damage in (b"the wh0le file", b"short", b""):
        path.chmod(0o600)
        path.write_bytes(damage)
        assert media_store.damaged([path.name]) == [path.name]
        stored(b"the whole file")
        assert path.read_bytes() == b"the whole file" and not path.stat().st_mode & 0o222


def test_what_a_broken_upload_left_is_swept_after_a_day(home: Path) -> None:
    fresh, old = home / "incoming" / "fresh", home / "incoming" / "old"
    for path in (fresh, old):
        path.write_bytes(b"x")
    os.utime(old, (OLD, OLD))
    assert media_store.sweep() == 1 and fresh.exists() and not old.exists()


@pytest.mark.django_db
def test_a_file_goes_only_when_no_row_and_no_history_names_it(make_thing: Any, keeper: Any) -> None:
    from archive.pictures.actions import remove_picture

    picture = make_thing(pictures=1).pictures.get()
    path = media_store.original_path(picture.sha256)
    media_store.forget_files([picture.sha256])
    assert path.exists()
    remove_picture(keeper, picture)  # undo may bring the row back
    assert references.is_named(path.name)
    media_store.forget_files([path.name])
    assert path.exists()
    type(picture).history.all().delete()
    media_store.forget_files([path.name])
    assert not path.exists()


@pytest.mark.django_db
def test_orphans_go_after_thirty_days_unless_a_snapshot_names_them(make_thing: Any, home: Path) -> None:
    named = make_thing(pictures=1).pictures.get().sha256
    in_snapshot, young, orphan = stored(b"in a snapshot"), stored(b"young"), stored(b"orphan")
    copy = home / "snapshots" / "kistbook-20260101T000000.sqlite3"
    with sqlite3.connect(copy) as database:
        database.execute("CREATE TABLE archive_recording (id INTEGER PRIMARY KEY, sha256 TEXT)")
        database.execute("INSERT INTO archive_recording (sha256) VALUES (?)", (in_snapshot,))
    database.close()
    for digest in (named, in_snapshot, orphan):
        os.utime(media_store.original_path(digest), (OLD, OLD))
    assert media_store.sweep_orphans([copy]) == 1
    left = {path.name for path in media_store.stored()}
    assert left == {named, in_snapshot, young}


@pytest.mark.django_db
def test_nothing_is_swept_while_a_snapshot_cannot_be_read(keeper: Any, home: Path) -> None:
    orphan = media_store.original_path(stored(b"orphan"))
    os.utime(orphan, (OLD, OLD))
    bad = home / "snapshots" / "kistbook-20260101T000000.sqlite3"
    bad.write_bytes(b"not a database at all" * 100)
    with pytest.raises(sqlite3.DatabaseError):
        media_store.sweep_orphans(each.path for each in snapshots.snapshots())
    assert orphan.exists()


@pytest.mark.django_db
def test_a_row_cannot_name_a_file_that_was_destroyed_meanwhile(home: Path, keeper: Any, make_thing: Any) -> None:
    digest = stored(b"here")
    media_store.require([digest])
    media_store.forget_files([digest])
    with pytest.raises(media_store.OriginalGone):
        media_store.require([digest])


@pytest.mark.parametrize(("number", "error"), [(errno.EIO, fatal.DiskBroken), (errno.ENOSPC, fatal.NoRoom)])
def test_what_the_disk_says_is_passed_on_and_nothing_half_stays(
    home: Path, monkeypatch: pytest.MonkeyPatch, number: int, error: type[OSError]
) -> None:
    def failing(handle: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", failing)
    with pytest.raises(error):
        media_store.receive([b"data"], 10**9)
    monkeypatch.undo()
    assert list((home / "incoming").iterdir()) == [] and fatal.is_broken() == (number == errno.EIO)
