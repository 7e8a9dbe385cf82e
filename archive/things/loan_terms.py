"""What every loan slip asks of whoever borrows a thing (pure; no Django)."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path


@cache
def terms() -> tuple[str, ...]:
    """Return the sentences that stand on every slip, in their order."""
    with Path(__file__).with_suffix(".toml").open("rb") as file:
        return tuple(row["say"] for row in tomllib.load(file)["term"])
