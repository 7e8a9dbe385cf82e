"""Importing through a server as it runs at home: files far too large, and kills in the middle of an import."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from tests.rooms.served import MEGABYTE, Served

TOO_LARGE_MB, MOST_MEMORY_MB = 300, 40
ROWS = 200_000
FILE = "SELECT public_id FROM conservation_readingimport"
READINGS, STATE = "SELECT count(*) FROM conservation_reading", "SELECT state FROM conservation_readingimport"


@pytest.fixture(scope="module")
def served(tmp_path_factory: Any) -> Iterator[Served]:
    home = tmp_path_factory.mktemp("served")
    found = Served(home)
    yield found
    found.server.close()


def minutes(count: int) -> bytes:
    """Readings of every minute, thirty bytes a row."""
    start = datetime(2020, 1, 1, tzinfo=UTC)
    rows = (
        f"{start + timedelta(minutes=n):%Y-%m-%dT%H:%M}Z,{18 + n % 977 / 100:05.2f},{45 + n % 1013 / 100:05.2f}\n"
        for n in range(count)
    )
    return b"time,temp C,rh\n" + "".join(rows).encode()


def test_a_file_far_too_large_is_refused_in_words_and_leaves_nothing(served: Served) -> None:
    served.get("/rooms/readings/import/")
    before, piece = served.memory_mb(), b"2026-02-03T14:00Z,19.42,52.10\n" * 10_000
    size = TOO_LARGE_MB * MEGABYTE // len(piece) * len(piece)
    answer = served.send_file(size, iter([piece] * (size // len(piece))))
    assert answer.status == 422 and "has 300 MB; up to 100 MB are taken" in answer.body
    assert "Nothing of it was kept" in answer.body
    # The answer is out before the request is tidied up.
    served.wait_until(lambda: served.incoming() == [], lambda: f"left: {served.incoming()}")
    assert served.value("SELECT count(*) FROM conservation_readingimport") == 0
    # The file went by way of the disk: the server never held it.
    assert served.memory_mb() - before < MOST_MEMORY_MB


def _kill_when(served: Served, what: Any) -> None:
    """Kill the server, as when the power goes, as soon as something is so."""
    served.wait_until(what)
    served.server.kill()


def test_a_kill_in_the_middle_of_an_import_leaves_nothing_half_and_it_goes_on_afterwards(served: Served) -> None:
    content = minutes(ROWS)
    served.send_file(len(content), iter([content]))
    served.wait_for(STATE, "asked")
    address = f"/rooms/readings/import/{served.value(FILE)}/"
    assert served.press(address, do="import", goal_0=f"new:{served.room}").status == 302
    # First while the file is read, then while its readings are written: the log of the database grows.
    _kill_when(served, lambda: any(name.endswith((".share", ".rows")) for name in served.incoming()))
    assert served.value(READINGS) == 0 and served.value(STATE) == "importing"
    served.server.start()
    _kill_when(served, lambda: served.log_bytes() > MEGABYTE)
    there = served.value(READINGS)
    assert (there, served.value(STATE), served.value("SELECT count(*) FROM conservation_sensor")) in (
        (0, "importing", 0),
        (ROWS, "done", 1),
    )
    served.server.start()
    served.wait_for("SELECT state FROM archive_errand WHERE kind = 'readings.import'", "done")
    assert served.value(READINGS) == ROWS and served.value(STATE) == "done"
    assert served.value("SELECT sum(rows) FROM conservation_sensorair WHERE NOT stale") == ROWS
    served.wait_until(lambda: served.incoming() == [], lambda: f"left: {served.incoming()}")
    assert served.get(f"/rooms/{served.room}/").status == 200
    # The same file once more changes nothing.
    served.send_file(len(content), iter([content]))
    latest = "SELECT {} FROM conservation_readingimport ORDER BY id DESC LIMIT 1"
    served.wait_for(latest.format("state"), "asked")
    sensor = served.value("SELECT public_id FROM conservation_sensor")
    served.press(f"/rooms/readings/import/{served.value(latest.format('public_id'))}/", do="import", goal_0=str(sensor))
    served.wait_for(latest.format("state"), "done")
    assert served.value(latest.format("same")) == served.value(READINGS) == ROWS
