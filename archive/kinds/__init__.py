"""What a thing can be and what state it can be in: the lists that drive all advice (pure; no Django)."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

_HERE = Path(__file__).parent


@dataclass(frozen=True)
class Family:
    """A group of kinds, as pickers show them."""

    code: str
    name: str


@dataclass(frozen=True)
class Marking:
    """Where and with what to write a number, and what never."""

    do: str
    never: str
    source: str
    status: str


@dataclass(frozen=True)
class Kind:
    """One kind of thing. ``size_mm`` is width, height and depth of one piece where nothing was measured."""

    code: str
    name: str
    line: str
    family: str
    bound: bool
    cased: bool
    framed: bool
    size_mm: tuple[float, float, float]
    marking: Marking


@dataclass(frozen=True)
class State:
    """Something a keeper can see, feel or smell; ``group`` is condition, smell or hazard."""

    code: str
    name: str
    line: str
    group: str


@cache
def _families_and_kinds() -> tuple[tuple[Family, ...], dict[str, Kind]]:
    with (_HERE / "kinds.toml").open("rb") as file:
        table = tomllib.load(file)
    marking = {name: Marking(**row) for name, row in table["marking"].items()}
    kinds_by_code = {}
    for code, row in table["kind"].items():
        width, height, depth = row["size_mm"]
        kinds_by_code[code] = Kind(
            code,
            row["name"],
            row["line"],
            row["family"],
            row["bound"],
            row["cased"],
            row["framed"],
            (float(width), float(height), float(depth)),
            marking[row["mark"]],
        )
    return tuple(Family(row["code"], row["name"]) for row in table["families"]), kinds_by_code


@cache
def _states() -> dict[str, State]:
    with (_HERE / "states.toml").open("rb") as file:
        return {code: State(code, row["name"], row["line"], row["group"]) for code, row in tomllib.load(file).items()}


FAMILIES: tuple[Family, ...] = _families_and_kinds()[0]
KIND_CODES: frozenset[str] = frozenset(_families_and_kinds()[1])
STATE_CODES: frozenset[str] = frozenset(_states())


def kinds() -> tuple[Kind, ...]:
    """Return all kinds in the order of the list."""
    return tuple(_families_and_kinds()[1].values())


def kind(code: str) -> Kind:
    """Return one kind.

    Raises:
        KeyError: there is no such code.
    """
    return _families_and_kinds()[1][code]


def states() -> tuple[State, ...]:
    """Return all states in the order of the list; ``sound`` comes first."""
    return tuple(_states().values())


def state(code: str) -> State:
    """Return one state.

    Raises:
        KeyError: there is no such code.
    """
    return _states()[code]
