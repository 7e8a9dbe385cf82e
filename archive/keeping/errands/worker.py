"""The one worker thread: takes errands in turn, and does due work when nobody asks for anything."""

from __future__ import annotations

import logging
import secrets
import threading
import time
from collections.abc import Callable
from typing import Any

from django.db import connection
from django.utils import timezone

from archive.keeping import fatal
from archive.keeping.errands.registry import handler
from archive.keeping.models import Errand

_log = logging.getLogger("kistbook")
_SAY_EVERY_SECONDS = 0.5
_LOOK_EVERY_SECONDS = 2.0
_wake = threading.Event()


def wake() -> None:
    """Have the worker look for errands now rather than at its next look."""
    _wake.set()


class Stopped(Exception):
    """The keeper pressed Stop, or Kistbook is closing."""


class Task:
    """What an errand's function gets: its payload, a way to say how far it is, and whether to stop."""

    def __init__(self, errand: Errand, closing: threading.Event) -> None:
        self.errand, self._closing, self._said = errand, closing, 0.0

    @property
    def payload(self) -> dict[str, Any]:
        return dict(self.errand.payload)

    def progress(self, done: int, total: int, words: str = "") -> None:
        """Say how far the work is; the pages are told twice a second at most.

        Raises:
            Stopped: it is to end here, because the keeper pressed Stop or Kistbook is closing.
        """
        now = time.monotonic()
        if self._closing.is_set():
            raise Stopped
        if now - self._said < _SAY_EVERY_SECONDS and done < total:
            return
        self._said = now
        Errand.objects.filter(pk=self.errand.pk).update(done=done, total=total, message=words[:300])
        if self.should_stop():
            raise Stopped

    def should_stop(self) -> bool:
        """Say whether the work is to end: for work that must tidy up before it raises `Stopped`."""
        if self._closing.is_set():
            return True
        return Errand.objects.filter(pk=self.errand.pk, stop_asked=True).exists()

    def checkpoint(self, **values: Any) -> None:
        """Keep where the work is, so that it goes on from there after a kill."""
        self.errand.payload = {**self.errand.payload, **values}
        Errand.objects.filter(pk=self.errand.pk).update(payload=self.errand.payload)

    def end_with(self, words: str) -> None:
        """Say what came of it; the words stay on the errand's page."""
        Errand.objects.filter(pk=self.errand.pk).update(message=words[:300])

    def leads_to(self, url: str) -> None:
        """Say where the result can be seen."""
        Errand.objects.filter(pk=self.errand.pk).update(result_url=url)


class Worker:
    """Runs errands one after another in a thread of its own; `when_idle` is called while there are none."""

    def __init__(self, when_idle: Callable[[threading.Event], object] | None = None) -> None:
        self._closing = threading.Event()
        self._when_idle = when_idle
        self._thread = threading.Thread(target=self._loop, name="errands", daemon=True)

    def start(self) -> None:
        """Take up again what a kill interrupted, and begin."""
        self.take_up_again()
        self._thread.start()

    def take_up_again(self) -> None:
        """Put back in the queue what was under way when Kistbook last ended."""
        Errand.objects.filter(state=Errand.State.RUNNING).update(state=Errand.State.WAITING)

    def close(self) -> None:
        """Stop after the present step; an errand under way waits for the next start."""
        self._closing.set()
        wake()
        self._thread.join(timeout=20)

    def _loop(self) -> None:
        while not self._closing.is_set():
            _wake.clear()
            try:
                while not self._closing.is_set() and self.run_one():
                    pass
                if not self._closing.is_set() and self._when_idle is not None:
                    self._when_idle(self._closing)
            except Exception:
                _log.exception("the worker stumbled")
                # Its connection may be what stumbled; the next look begins with a fresh one.
                connection.close()
            _wake.wait(timeout=_LOOK_EVERY_SECONDS)
        connection.close()

    def run_one(self) -> bool:
        """Do the oldest waiting errand; return False when there is none."""
        errand = Errand.objects.filter(state=Errand.State.WAITING).order_by("created_at", "pk").first()
        if errand is None or fatal.is_broken():
            return False
        do = handler(errand.kind)
        Errand.objects.filter(pk=errand.pk).update(state=Errand.State.RUNNING)
        state, message = Errand.State.DONE, ""
        try:
            if errand.stop_asked:
                raise Stopped
            if do is None:
                raise LookupError(f"no errand of the kind {errand.kind}")
            do(Task(errand, self._closing))
        except Stopped:
            if self._closing.is_set() and not Errand.objects.filter(pk=errand.pk, stop_asked=True).exists():
                Errand.objects.filter(pk=errand.pk).update(state=Errand.State.WAITING)
                return True
            state = Errand.State.STOPPED
        except Exception:
            code = secrets.token_hex(4)
            _log.exception("errand failed, code %s", code)
            state, message = Errand.State.FAILED, f"It failed. The code in the log is {code}."
        values: dict[str, Any] = {"state": state, "finished_at": timezone.now()}
        if message:
            values["message"] = message
        Errand.objects.filter(pk=errand.pk).update(**values)
        return True
