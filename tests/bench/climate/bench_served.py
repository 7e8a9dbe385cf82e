"""Other pages while ten years of readings are imported through a served archive, and files far too large for it.

    .venv/bin/python -m tests.bench.climate.bench_served

One reader asks for pages in turn, first with nothing else going on, then while a file of 525,600 rows is looked at and
imported. Aim: nineteen answers in twenty within 200 ms meanwhile. Then 300 MB are sent: how long, and how much memory.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from tests.bench.climate.bench_climate import FILES, write
from tests.rooms.served import MEGABYTE, Served, share

AIM_P95_S = 0.200
PAGES = ("/", "/rooms/", "/things/")
_ONE = "SELECT {} FROM conservation_readingimport ORDER BY id DESC LIMIT 1"


def main() -> int:
    """Measure, print, and return 1 when the aim was missed."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "home"
        home.mkdir()
        served = Served(home)
        try:
            late = _meanwhile(served, Path(folder) / "readings.csv")
            _too_large(served)
        finally:
            served.server.close()
    return int(late > AIM_P95_S)


def _meanwhile(served: Served, path: Path) -> float:
    write(path, FILES["ISO times, commas"][0])
    for page in PAGES:
        served.get(page)
    with served.asking(*PAGES) as quiet:
        time.sleep(5)
    _say("nothing else going on", quiet)
    content = path.read_bytes()
    began = time.perf_counter()
    with served.asking(*PAGES) as looked_at:
        served.send_file(len(content), iter([content]))
        served.wait_for(_ONE.format("state"), "asked")
    _say(f"looked at in {time.perf_counter() - began:.1f} s", looked_at)
    address = f"/rooms/readings/import/{served.value(_ONE.format('public_id'))}/"
    began = time.perf_counter()
    with served.asking(*PAGES) as imported:
        served.press(address, do="import", goal_0=f"new:{served.room}")
        served.wait_for("SELECT state FROM archive_errand WHERE kind = 'readings.import'", "done")
    _say(f"imported in {time.perf_counter() - began:.1f} s", imported)
    return max(share(seconds, 0.95) for each in (looked_at, imported) for seconds in each.values())


def _say(what: str, found: dict[str, list[float]]) -> None:
    for page, seconds in found.items():
        middle, late, last = (1000 * share(seconds, part) for part in (0.5, 0.95, 1))
        print(f"{what}: {page} {len(seconds)} times, half in {middle:.0f}, 95 % in {late:.0f}, all in {last:.0f} ms")


def _too_large(served: Served) -> None:
    before, piece = served.memory_mb(), b"2026-02-03T14:00Z,19.42,52.10\n" * 10_000
    began = time.perf_counter()
    answer = served.send_file(300 * MEGABYTE, iter([piece] * 1000))
    seconds, more = time.perf_counter() - began, served.memory_mb() - before
    served.wait_until(lambda: not served.incoming(), lambda: f"left on the disk: {served.incoming()}")
    print(f"300 MB: answered {answer.status} in {seconds:.1f} s, {more:.0f} MB more memory, nothing left on the disk")


if __name__ == "__main__":
    sys.exit(main())
