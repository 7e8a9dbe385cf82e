"""What is kept of the air is found again by another process: sets of codes have another order there."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
_SAY = "from conservation.science.room_air import group_of; print(sorted(group_of().items()))"


def test_kinds_are_grouped_alike_in_every_process() -> None:
    said = {
        subprocess.run(
            [sys.executable, "-c", _SAY], capture_output=True, text=True, check=True, cwd=ROOT, timeout=60,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2", "3")
    }  # fmt: skip
    assert len(said) == 1
