"""Django's SQLite backend with one write lock for the whole process where the library is an older one."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from django.db import DatabaseError, OperationalError
from django.db.backends.sqlite3 import base

from archive.keeping import fatal
from archive.keeping.sqlite.modes import expected_pragmas, mode

# One archive, one process, so one lock: whoever holds it may begin a write transaction.
_write_lock = threading.RLock()
_WAIT_SECONDS = 120
_WRITES = frozenset({"INSERT", "UPDATE", "DELETE", "REPLACE", "CREATE", "ALTER", "DROP", "VACUUM", "REINDEX"})


class WrongPragma(RuntimeError):
    """A connection does not have the safe settings that were asked for."""


if TYPE_CHECKING:
    # The stubs know only part of what these classes have.
    class _Wrapper:
        connection: Any

        def __init__(self, *args: Any, **kwargs: Any) -> None: ...
        def _start_transaction_under_autocommit(self) -> None: ...
        def _commit(self) -> None: ...
        def _rollback(self) -> None: ...
        def _close(self) -> None: ...
        def cursor(self) -> Any: ...

    class _Cursor:
        def execute(self, query: str, params: Any = None) -> Any: ...
        def executemany(self, query: str, param_list: Any) -> Any: ...
else:
    _Wrapper = base.DatabaseWrapper
    _Cursor = base.SQLiteCursorWrapper


@contextmanager
def write_turn() -> Iterator[None]:
    """Hold the write lock, where there is one, for work that would make writers wait long (a snapshot).

    Raises:
        django.db.OperationalError: another write has held it for two minutes.
    """
    if not mode().one_writer:
        yield
        return
    if not _write_lock.acquire(timeout=_WAIT_SECONDS):
        raise OperationalError("database is locked: another write has held it for two minutes")
    try:
        yield
    finally:
        _write_lock.release()


def is_write(query: str) -> bool:
    """Say whether a statement changes the database by itself, outside a transaction."""
    words = query.lstrip()[:8].split()
    return bool(words) and words[0].upper() in _WRITES


class _TakingTurns(_Cursor):
    """A cursor whose single writes, outside a transaction, wait for their turn too."""

    owner: Any = None

    def execute(self, query: str, params: Any = None) -> Any:
        with self.owner.turn_for(query):
            return super().execute(query, params)

    def executemany(self, query: str, param_list: Any) -> Any:
        with self.owner.turn_for(query):
            return super().executemany(query, param_list)


class DatabaseWrapper(_Wrapper):
    """As Django's, but writes of an older library wait for their turn, and a broken disk ends all writes."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._turn: Any = None

    def create_cursor(self, name: Any = None) -> Any:
        cursor = self.connection.cursor(factory=_TakingTurns)
        cursor.owner = self
        return cursor

    @contextmanager
    def turn_for(self, query: str) -> Iterator[None]:
        """Wait for the turn that a single statement needs; inside a transaction it is held already."""
        if self._turn is not None or not is_write(query) or self.connection.in_transaction:
            with _watching():
                yield
            return
        fatal.refuse_if_broken()
        with write_turn(), _watching():
            yield

    def _start_transaction_under_autocommit(self) -> None:
        fatal.refuse_if_broken()
        self._take_turn()
        try:
            super()._start_transaction_under_autocommit()
        except BaseException:
            self._end_turn()
            raise

    def _take_turn(self) -> None:
        if self._turn is None:
            turn = write_turn()
            turn.__enter__()
            self._turn = turn

    def _end_turn(self) -> None:
        turn, self._turn = self._turn, None
        if turn is not None:
            turn.__exit__(None, None, None)

    def _commit(self) -> None:
        # A commit that fails keeps its turn: Django rolls back or closes next, and only then may another write.
        with _watching():
            super()._commit()
        self._end_turn()

    def _rollback(self) -> None:
        try:
            super()._rollback()
        finally:
            self._end_turn()

    def _close(self) -> None:
        try:
            super()._close()
        finally:
            self._end_turn()

    def check_pragmas(self) -> None:
        """Ask the connection for its settings.

        Raises:
            WrongPragma: one of them is not what the mode asks for.
        """
        with self.cursor() as cursor:
            for name, wanted in expected_pragmas().items():
                cursor.execute(f"PRAGMA {name}")
                row = cursor.fetchone()
                found = str(row[0]) if row else "0"
                if found != wanted:
                    raise WrongPragma(f"{name} is {found}, not {wanted}")


@contextmanager
def _watching() -> Iterator[None]:
    """Note a disk that fails under the database, whoever asked for the write."""
    try:
        yield
    except (DatabaseError, sqlite3.DatabaseError) as error:
        if "disk I/O error" in str(error):
            fatal.mark_broken()
        raise
