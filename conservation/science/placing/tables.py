"""The table of placing, read once."""

from __future__ import annotations

import tomllib
from functools import cache
from typing import Any

from archive.kinds import kind
from conservation.science.sources import DATA, Citation


@cache
def table() -> dict[str, Any]:
    """Return ``data/placing.toml``."""
    with (DATA / "placing.toml").open("rb") as file:
        return tomllib.load(file)


def citation(which: str) -> Citation:
    """Return where ``guess``, ``risk`` or ``weigh`` come from."""
    row = table()[which]
    return Citation(row["source"], row["locator"], row["status"])


def weight(name: str) -> float:
    """Return one weight of the order of places."""
    return float(table()["weigh"][name])


@cache
def lasting(code: str) -> str:
    """Return by which law a kind lasts: ``cellulose``, ``acetate``, ``slow``, or ``none`` for what does not age so."""
    rows, family = table()["last"], kind(code).family
    if code in rows["acetate_kinds"]:
        return "acetate"
    if family in rows["no_ageing_families"] or code in rows["no_ageing_kinds"]:
        return "none"
    if family in rows["cellulose_families"] or code in rows["cellulose_kinds"]:
        return "cellulose"
    return "slow"
