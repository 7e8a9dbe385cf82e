"""Random kills during uploads, saves and snapshots; prints what was told, lost, and left without a file."""

from __future__ import annotations

import json
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from tests.keeping.harness import run_kills


def main() -> None:
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    for mode in ("newer", "older"):
        began = time.monotonic()
        result = run_kills(Path(tempfile.mkdtemp()), kills // 2, kills, {"KISTBOOK_SQLITE_MODE": mode})
        print(mode, json.dumps(result), f"{time.monotonic() - began:.0f} s", flush=True)


if __name__ == "__main__":
    main()
