"""A long sum in a process of its own, through the same door as the command line, with limits of time and memory."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from django.conf import settings

SECONDS, MEMORY_MB = 60.0, 2048
_POLL_SECONDS = 0.1
_REFUSED = 2  # the door's exit status for input it does not take
# The limits are set inside the child before it imports anything large. A process that outlives Kistbook ends by
# itself when its processor time is used up. Windows has no such limits; there only the clock is watched.
_BOOTSTRAP = """
import sys
try:
    import resource
    memory, seconds = int(sys.argv[1]) << 20, int(sys.argv[2])
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))
except (ImportError, ValueError, OSError):
    pass
import runpy
sys.argv = sys.argv[3:]
runpy.run_path(sys.argv[0], run_name="__main__")
"""


class SumFailed(RuntimeError):
    """A sum gave no result; the sentence says why."""


class SumRefused(SumFailed):
    """The sum does not take this input; the sentence has the path of the field."""


class TookTooLong(SumFailed):
    """The sum was ended at its limit of time."""


# What Python, C++, the system and the loader of libraries say when the limit is met.
# The last two: not even room for the words of the trouble; a command of ours that could not be loaded at all.
_SIGNS_OF_LITTLE_MEMORY = (
    "MemoryError", "bad_alloc", "Cannot allocate memory", "failed to map segment", "Exception ignored on building",
    "Unknown command",
)  # fmt: skip


class TookTooMuch(SumFailed):
    """The sum was ended at its limit of memory."""


class SumStopped(SumFailed):
    """The sum was ended because somebody asked."""


def work_out(
    topic: str,
    problem: Mapping[str, Any],
    *,
    seconds: float = SECONDS,
    memory_mb: int = MEMORY_MB,
    should_stop: Callable[[], bool] = lambda: False,
    so_far: Callable[[dict[str, Any]], None] | None = None,
) -> dict[str, Any]:
    """Work out a topic in a child process and return its answer.

    Args:
        topic: as on the command line.
        problem: the input, as JSON has it.
        seconds: the limit of time, by the clock.
        memory_mb: the limit of memory, in mebibytes of address space (not on Windows).
        should_stop: asked ten times a second.
        so_far: hears of better answers on the way, where the topic tells of them.

    Raises:
        SumRefused, TookTooLong, TookTooMuch, SumStopped: as their names say.
        SumFailed: anything else; the child's own words are not passed on, since they may hold what was typed.
    """
    command = [str(settings.BASE_DIR / "manage.py"), "work_out", topic]
    with tempfile.TemporaryDirectory(prefix="kistbook-sum-") as folder:
        kept, seen = Path(folder) / "so-far.json", ""

        def look() -> bool:
            nonlocal seen
            if so_far is not None and kept.exists() and (text := kept.read_text(encoding="utf-8")) != seen:
                seen = text
                so_far(json.loads(text))
            return should_stop()

        if so_far is not None:
            command += ["--so-far", str(kept)]
        out = run(command, problem, seconds=seconds, memory_mb=memory_mb, should_stop=look)
    answer: dict[str, Any] = json.loads(out)
    return answer


def run(
    command: Sequence[str],
    problem: Mapping[str, Any],
    *,
    seconds: float = SECONDS,
    memory_mb: int = MEMORY_MB,
    should_stop: Callable[[], bool] = lambda: False,
) -> str:
    """Run one of our own files in a child process and return what it says.

    Args:
        command: the file and its arguments.
        problem: given to it as JSON.
        seconds, memory_mb, should_stop: as for `work_out`; what ``should_stop`` raises ends the child, too.

    Raises:
        SumFailed: as `work_out` does.
    """
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "PYTHONIOENCODING": "utf-8"}
    child = subprocess.Popen(  # noqa: S603 - our own command
        [sys.executable, "-c", _BOOTSTRAP, str(memory_mb), str(int(seconds) + 1), *command],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        env=environment,
        cwd=settings.BASE_DIR,
    )
    try:
        out, err = _wait(child, json.dumps(problem), seconds, should_stop)
    finally:
        if child.poll() is None:
            child.kill()
            child.communicate()
    if child.returncode == _REFUSED:
        raise SumRefused(err.strip() or "the input was refused")
    if child.returncode != 0:
        if any(sign in err for sign in _SIGNS_OF_LITTLE_MEMORY):
            raise TookTooMuch(f"the sum needs more than {memory_mb} MB of memory")
        raise SumFailed(f"the sum ended without a result (status {child.returncode})")
    return out


def _wait(child: subprocess.Popen[str], text: str, seconds: float, should_stop: Callable[[], bool]) -> tuple[str, str]:
    until = time.monotonic() + seconds
    to_send: str | None = text
    while True:
        try:
            return child.communicate(to_send, timeout=_POLL_SECONDS)
        except subprocess.TimeoutExpired:
            to_send = None  # it is on its way already; asking again goes on from there
        if should_stop():
            raise SumStopped("the sum was stopped")
        if time.monotonic() > until:
            raise TookTooLong(f"the sum took longer than {seconds:g} seconds")
