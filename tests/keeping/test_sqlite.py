"""The database backend in both modes: settings that hold, writers that wait their turn, a disk that fails."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import IntegrityError, OperationalError, transaction
from django.db.utils import ConnectionHandler

from archive.keeping import fatal
from archive.keeping.sqlite import modes
from archive.keeping.sqlite.base import WrongPragma, is_write


@pytest.fixture(params=["newer", "older"])
def mode(request: Any, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv(modes.MODE_VARIABLE, request.param)
    return str(request.param)


@pytest.fixture
def database(
    mode: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, django_db_blocker: Any
) -> Iterator[ConnectionHandler]:
    """A file database of its own, the one `atomic` speaks of; every thread gets a connection of its own to it."""
    handler = ConnectionHandler(
        {
            "default": {
                "ENGINE": "archive.keeping.sqlite",
                "NAME": str(tmp_path / "d.sqlite3"),
                "OPTIONS": modes.settings_options(),
            }
        }
    )
    monkeypatch.setattr(transaction, "get_connection", lambda using=None: handler["default"])
    with django_db_blocker.unblock():
        yield from _filled(handler)


def _filled(handler: ConnectionHandler) -> Iterator[ConnectionHandler]:
    with handler["default"].cursor() as cursor:
        cursor.execute("CREATE TABLE purse (id INTEGER PRIMARY KEY, amount INTEGER NOT NULL)")
        cursor.execute("CREATE TABLE coin (id INTEGER PRIMARY KEY, purse INTEGER REFERENCES purse DEFERRABLE INITIALLY "
                       "DEFERRED)")  # fmt: skip
        cursor.execute("INSERT INTO purse VALUES (1, 0)")
    yield handler
    handler.close_all()


def test_which_mode_by_version(monkeypatch: pytest.MonkeyPatch) -> None:
    """WAL only from 3.51.3 on, where its race is mended (release note of SQLite 3.51.3)."""
    monkeypatch.delenv(modes.MODE_VARIABLE, raising=False)
    for version, name in (((3, 40, 1), "older"), ((3, 51, 2), "older"), ((3, 51, 3), "newer"), ((3, 53, 4), "newer")):
        monkeypatch.setattr(modes, "library_version", lambda version=version: version)
        assert modes.mode().name == name
    monkeypatch.setenv(modes.MODE_VARIABLE, "newer")
    monkeypatch.setattr(modes, "library_version", lambda: (3, 40, 1))
    assert modes.mode().name == "older"  # the safe one cannot be argued away


def test_the_settings_hold_and_a_wrong_one_is_found(database: ConnectionHandler, mode: str, tmp_path: Path) -> None:
    connection = database["default"]
    connection.check_pragmas()
    # Asked of a bare connection too: the journal is a property of the file.
    with sqlite3.connect(tmp_path / "d.sqlite3") as bare:
        journal = bare.execute("PRAGMA journal_mode").fetchone()[0]
    bare.close()
    assert (journal == "wal") == (mode == "newer")
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous = OFF")
    with pytest.raises(WrongPragma, match="synchronous"):
        connection.check_pragmas()


def in_threads(count: int, work: Any) -> list[str]:
    errors: list[str] = []

    def guarded(lane: int) -> None:
        try:
            work(lane)
        except Exception as error:
            errors.append(repr(error))

    threads = [threading.Thread(target=guarded, args=(lane,)) for lane in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return errors


def test_reading_then_writing_loses_no_update(database: ConnectionHandler) -> None:
    """Twenty writers read an amount and write it back plus one: in a deferred transaction most of them would fail."""

    def work(lane: int) -> None:
        connection = database["default"]
        for _ in range(10):
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute("SELECT amount FROM purse WHERE id = 1")
                cursor.execute("UPDATE purse SET amount = %s WHERE id = 1", [cursor.fetchone()[0] + 1])
            with connection.cursor() as cursor:  # and single statements in between
                cursor.execute("INSERT INTO purse (amount) VALUES (%s)", [lane])
        connection.close()

    assert in_threads(20, work) == []
    with database["default"].cursor() as cursor:
        cursor.execute("SELECT amount, (SELECT count(*) FROM purse) FROM purse WHERE id = 1")
        assert cursor.fetchone() == (200, 201)


def test_a_commit_that_fails_gives_the_turn_back(database: ConnectionHandler) -> None:
    connection = database["default"]
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("INSERT INTO coin (purse) VALUES (99)")  # found out at the commit only

    def other(lane: int) -> None:
        with transaction.atomic(), database["default"].cursor() as cursor:
            cursor.execute("INSERT INTO coin (purse) VALUES (1)")
        database["default"].close()

    assert in_threads(1, other) == []


def test_a_connection_closed_in_the_middle_gives_the_turn_back(database: ConnectionHandler) -> None:
    def careless(lane: int) -> None:
        connection = database["default"]
        connection.set_autocommit(False, force_begin_transaction_with_broken_autocommit=True)
        connection.cursor().execute("INSERT INTO coin (purse) VALUES (1)")
        connection.close()

    assert in_threads(3, careless) == []
    with database["default"].cursor() as cursor:
        cursor.execute("INSERT INTO coin (purse) VALUES (1)")
        cursor.execute("SELECT count(*) FROM coin")
        assert cursor.fetchone() == (1,)


def test_a_disk_that_fails_under_the_database_ends_all_writes(
    database: ConnectionHandler, monkeypatch: pytest.MonkeyPatch
) -> None:
    from django.db.backends.sqlite3 import base

    connection = database["default"]

    def failing(self: Any, query: str, params: Any = None) -> Any:
        raise sqlite3.OperationalError("disk I/O error")

    with connection.cursor() as cursor, monkeypatch.context() as broken:
        broken.setattr(base.SQLiteCursorWrapper, "execute", failing)
        with pytest.raises(OperationalError):
            cursor.execute("UPDATE purse SET amount = 5")
    assert fatal.is_broken()
    with connection.cursor() as cursor:
        with pytest.raises(fatal.DiskBroken):
            cursor.execute("UPDATE purse SET amount = 5")
        with pytest.raises(fatal.DiskBroken), transaction.atomic():
            raise AssertionError("no transaction begins any more")
        cursor.execute("SELECT amount FROM purse")
        assert cursor.fetchone() == (0,)


def test_which_statements_change_something() -> None:
    assert all(is_write(each) for each in ("INSERT INTO a", " update a", "DELETE FROM a", "DROP TABLE a", "vacuum"))
    assert not any(is_write(each) for each in ("SELECT 1", "PRAGMA x", "BEGIN IMMEDIATE", "SAVEPOINT a", "", "  "))
