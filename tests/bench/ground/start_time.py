"""Seconds from `start` to the first page on a warm disk, and idle memory."""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

import psutil

from tests.keeping.harness import Server


def main() -> None:
    home = Path(tempfile.mkdtemp())
    server = Server(home)
    print(f"first start, making the archive: {server.start():.2f} s")
    server.make_keeper()
    server.close()
    times = []
    for _ in range(5):
        times.append(server.start())
        time.sleep(2)
        assert server.process is not None
        memory = psutil.Process(server.process.pid).memory_info().rss / 1e6
        server.close()
    print(f"start to first page: {min(times):.2f} to {max(times):.2f} s; idle memory {memory:.0f} MB")


if __name__ == "__main__":
    main()
