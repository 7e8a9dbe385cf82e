"""Random kills during uploads, saves, snapshots, first starts and upgrades; prints what was told and what was lost."""

from __future__ import annotations

import json
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from tests.keeping.harness import run_kills
from tests.keeping.upgrade_kills import run_upgrade_kills


def main() -> None:
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    for mode in ("newer", "older"):
        environ = {"KISTBOOK_SQLITE_MODE": mode}
        for name, run, count in (("uploads, saves, snapshots", run_kills, kills * 2 // 5),
                                 ("first starts and upgrades", run_upgrade_kills, kills // 10)):  # fmt: skip
            began = time.monotonic()
            result = run(Path(tempfile.mkdtemp()), count, kills, environ)
            print(mode, name, json.dumps(result), f"{time.monotonic() - began:.0f} s", flush=True)


if __name__ == "__main__":
    main()
