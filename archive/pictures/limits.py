"""Limits of picture files, read from ``limits.toml`` (pure)."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path


@cache
def _rows() -> dict[str, dict[str, object]]:
    with (Path(__file__).parent / "limits.toml").open("rb") as file:
        return tomllib.load(file)


def limit(name: str) -> int:
    """Return one limit, in the unit that stands beside it in ``limits.toml``.

    Raises:
        KeyError: there is no such limit.
    """
    value = _rows()[name]["value"]
    if not isinstance(value, int):
        raise TypeError(f"the limit {name} is not a whole number")
    return value
