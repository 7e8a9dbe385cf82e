"""Django's SQLite backend with one write lock for the whole process where the library is an older one."""

from __future__ import annotations

import threading
from typing import Any

from django.db import OperationalError
from django.db.backends.sqlite3 import base

from archive.keeping.sqlite.modes import expected_pragmas, mode

# One archive, one process, so one lock: whoever holds it may begin a write transaction.
_write_lock = threading.Lock()


class WrongPragma(RuntimeError):
    """A connection does not have the safe settings that were asked for."""


_Wrapper: Any = base.DatabaseWrapper


class DatabaseWrapper(_Wrapper):  # type: ignore[misc]
    """As Django's, but a write transaction of an older library waits for its turn."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._holds_lock = False

    def _take_lock(self) -> None:
        if mode().one_writer and not self._holds_lock:
            if not _write_lock.acquire(timeout=120):
                raise OperationalError("another write has held the database for two minutes")
            self._holds_lock = True

    def _give_lock_back(self) -> None:
        if self._holds_lock:
            self._holds_lock = False
            _write_lock.release()

    def _start_transaction_under_autocommit(self) -> None:
        self._take_lock()
        try:
            super()._start_transaction_under_autocommit()
        except BaseException:
            self._give_lock_back()
            raise

    def _commit(self) -> None:
        try:
            super()._commit()
        finally:
            self._give_lock_back()

    def _rollback(self) -> None:
        try:
            super()._rollback()
        finally:
            self._give_lock_back()

    def _close(self) -> None:
        try:
            super()._close()
        finally:
            self._give_lock_back()

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
