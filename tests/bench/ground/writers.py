"""Twenty writers with fifty transactions each, in both SQLite modes."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))

from tests.keeping.test_durability import WRITERS


def main() -> None:
    for mode in ("newer", "older"):
        began = time.monotonic()
        run = subprocess.run(
            [sys.executable, "-c", WRITERS, tempfile.mkdtemp(), "50"], cwd=ROOT, capture_output=True, text=True,
            env={**os.environ, "KISTBOOK_SQLITE_MODE": mode},
        )  # fmt: skip
        print(mode, run.stdout.strip() or run.stderr[-500:], f"{time.monotonic() - began:.1f} s", flush=True)


if __name__ == "__main__":
    main()
