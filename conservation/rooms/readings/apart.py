"""Reading a large file in a process of its own: pages answer meanwhile, and a hostile file cannot take all memory.

This file is also what that process runs: it reads as `assess_import` does, and leaves the readings beside the file.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from conservation.rooms.readings import assess_import
from conservation.rooms.readings.store import Stored

# Reading 100 MB takes some ten seconds on a quick computer.
SECONDS, MEMORY_MB = 900.0, 2048
_SAY_EVERY_SECONDS = 0.2
_NICE = 10
TOO_MUCH = "The file is too much to be read in one go. Export a shorter stretch of time, and import one after another."


def look(path: Path, kept: Mapping[str, Any], should_stop: Callable[[], bool]) -> dict[str, Any]:
    """Do what `assess_import.look` does, apart."""
    try:
        return _apart("look", path, kept, lambda share: should_stop())
    except assess_import.NotReadings as error:
        return {"not_readings": str(error)}


def read_all(
    path: Path, kept: Mapping[str, Any], progress: Callable[[float], None]
) -> tuple[dict[str, Stored], dict[str, Any]]:
    """Do what `assess_import.read_all` does, apart; what ``progress`` raises ends the reading.

    Raises:
        NotReadings, FileNotFoundError: as there.
    """
    import numpy as np

    def told(share: float) -> bool:
        progress(share)
        return False

    rows = _beside(path, "rows")
    try:
        found = _apart("read", path, kept, told)
        if "not_readings" in found:
            raise assess_import.NotReadings(found["not_readings"])
        with np.load(rows, allow_pickle=False) as columns:
            series = {
                name: Stored(*(columns[f"{number}.{column}"] for column in ("at", "temperature", "humidity")))
                for number, name in enumerate(found["names"])
            }
        return series, found["noted"]
    finally:
        rows.unlink(missing_ok=True)


def _beside(path: Path, what: str) -> Path:
    return path.with_name(f"{path.name}.{what}")


def _apart(what: str, path: Path, kept: Mapping[str, Any], told: Callable[[float], bool]) -> dict[str, Any]:
    """Have a child process read a file; ``told`` hears the share read, and says whether to stop."""
    from archive.keeping.errands import child

    share = _beside(path, "share")

    def heard() -> bool:
        try:
            return told(float(share.read_text()))
        except (OSError, ValueError):
            return told(0.0)

    problem = {"what": what, "path": str(path), "choices": dict(kept), "parent": os.getpid()}
    try:
        out = child.run([__file__], problem, seconds=SECONDS, memory_mb=MEMORY_MB, should_stop=heard)
    except (child.TookTooLong, child.TookTooMuch) as error:
        raise assess_import.NotReadings(TOO_MUCH) from error
    except child.SumStopped as error:
        from archive.keeping.errands.worker import Stopped

        raise Stopped from error
    finally:
        share.unlink(missing_ok=True)
    answer: dict[str, Any] = json.loads(out)
    if answer.pop("gone", False):
        raise FileNotFoundError(path)
    return answer


# -- in the process of its own ---------------------------------------------------------------------------------


def _teller(path: Path, parent: int) -> Callable[[float], None]:
    """Return what notes the share read, and ends this process when the one that asked is no more."""
    said = 0.0

    def tell(share: float) -> None:
        nonlocal said
        now = time.monotonic()
        if now - said < _SAY_EVERY_SECONDS:
            return
        said = now
        if os.name != "nt" and os.getppid() != parent:
            raise SystemExit(1)
        _beside(path, "share").write_text(f"{share:.4f}")

    return tell


def _answer(problem: Mapping[str, Any]) -> dict[str, Any]:
    import numpy as np

    path, choices = Path(problem["path"]), problem["choices"]
    tell = _teller(path, problem["parent"])
    if problem["what"] == "look":
        return assess_import.look(path, choices, tell)
    series, noted = assess_import.read_all(path, choices, tell)
    columns = {
        f"{number}.{column}": getattr(each, column)
        for number, each in enumerate(series.values())
        for column in ("at", "temperature", "humidity")
    }
    with _beside(path, "rows").open("wb") as out:
        np.savez(out, **columns)
    return {"names": list(series), "noted": noted}


def main() -> None:
    """Read what is asked for on standard input, and answer on standard output."""
    if hasattr(os, "nice"):
        os.nice(_NICE)  # whoever asks for a page comes first
    try:
        answer = _answer(json.load(sys.stdin))
    except assess_import.NotReadings as error:
        answer = {"not_readings": str(error)}
    except FileNotFoundError:
        answer = {"gone": True}
    json.dump(answer, sys.stdout)


if __name__ == "__main__":
    main()
