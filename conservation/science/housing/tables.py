"""The rule tables of housing, read once from ``data/``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any

from conservation.science.sources import DATA, Citation

FORMS_OF_PLASTIC = ("sleeve", "bag", "polyester-jacket")
PLASTICS = ("polyester", "polypropylene", "polyethylene")


@dataclass(frozen=True)
class Row:
    """One class of things: how it is housed. Sizes in mm, stacks in pieces."""

    code: str
    enclosures: tuple[tuple[str, str], ...]  # form and material, best first
    buffering: str
    interleaf: str
    support: str
    position: str
    fill: str
    max_stack: int | None
    max_pile_mm: int | None
    never: tuple[str, ...]
    gloves: tuple[str, ...]
    meanwhile: tuple[str, ...]
    loose: bool
    sensitivity: tuple[int, int, int, int]  # 0 to 3 for humidity, light, handling, pests or pollution
    source: str
    cited: dict[str, Citation]
    said: dict[str, tuple[str, ...]]  # of a cell that is a list: the codes its source names, where not all of them

    def citation(self, cell: str, code: str = "") -> Citation:
        """Return where a cell, or one code of its list, comes from; what no source is named for is our default."""
        if cell in self.cited and (not code or code in self.said.get(cell, (code,))):
            return self.cited[cell]
        return Citation("kistbook", f"table of housing, row {self.code}, {_CELLS.get(cell, cell)}", "our default")


@dataclass(frozen=True)
class Care:
    """The care columns of one kind."""

    housing: str
    climate: str
    nearest: bool
    handling: str


@dataclass(frozen=True)
class Handling:
    """How a class of things is carried."""

    strongest: str
    weakest: str
    lift: str
    citation: Citation


@dataclass(frozen=True)
class Hazard:
    """A hazard: the caution, and whom to call."""

    code: str
    say: str
    call: tuple[str, ...]
    citation: Citation


@dataclass(frozen=True)
class Verdict:
    """Whether furniture, a place or an enclosure suits."""

    verdict: str
    why: str
    instead: str
    citation: Citation


_CELLS = {
    "enclosures": "what it is put in", "buffering": "the paper", "interleaf": "what lies between",
    "support": "what holds it", "position": "how it lies", "fill": "how full the box is", "never": "what never",
    "gloves": "the hands", "meanwhile": "until there is a box", "max_stack": "how many in a pile",
}  # fmt: skip


def _table(name: str) -> dict[str, Any]:
    with (DATA / f"{name}.toml").open("rb") as file:
        return tomllib.load(file)


def _cite(row: dict[str, Any]) -> Citation:
    return Citation(row["source"], row["locator"], row["status"])


@cache
def rows() -> dict[str, Row]:
    """Return all housing rows by code."""
    found = {}
    for code, row in _table("housing_rows").items():
        pairs = [tuple(each.split("/")) for each in row["enclosures"]]
        found[code] = Row(
            code=code,
            enclosures=tuple((form, material) for form, material in pairs),
            buffering=row["buffering"],
            interleaf=row["interleaf"],
            support=row["support"],
            position=row["position"],
            fill=row["fill"],
            max_stack=row.get("max_stack"),
            max_pile_mm=row.get("max_pile_mm"),
            never=tuple(row["never"]),
            gloves=tuple(row["gloves"]),
            meanwhile=tuple(row["meanwhile"]),
            loose=row["loose"],
            sensitivity=tuple(row["sensitivity"]),
            source=row["source"],
            cited={cell: _cite(each) for cell, each in row.get("cited", {}).items()},
            said={cell: tuple(each["codes"]) for cell, each in row.get("cited", {}).items() if "codes" in each},
        )
    return found


@cache
def care() -> dict[str, Care]:
    """Return the care columns by kind."""
    return {
        code: Care(row["housing"], row["climate"], row["nearest"], row["handling"])
        for code, row in _table("care").items()
    }


@cache
def handling() -> dict[str, Handling]:
    """Return how each class of things is carried, by the class that `care` names."""
    return {
        code: Handling(row["strongest"], row["weakest"], row["lift"], _cite(row))
        for code, row in _table("handling")["class"].items()
    }


@cache
def carrying_route() -> tuple[tuple[str, ...], Citation]:
    """Return what to see to on the way before anything is carried, and who says so."""
    row = _table("handling")["route"]
    return tuple(row["say"]), _cite(row)


@cache
def _hazard_file() -> dict[str, Any]:
    return _table("hazards")


@cache
def hazards() -> dict[str, Hazard]:
    """Return all hazards by code."""
    return {
        code: Hazard(code, row["say"], tuple(row["call"]), _cite(row)) for code, row in _hazard_file()["hazard"].items()
    }


def hazards_of_kind(kind: str) -> list[tuple[str, str]]:
    """Return the hazards that a kind brings, each with its level."""
    return [(code, level) for code, level in _hazard_file()["kind"].get(kind, [])]


def hazards_of_state(state: str) -> list[tuple[str, str]]:
    """Return the hazards that a state brings, each with its level."""
    return [(code, level) for code, level in _hazard_file()["state"].get(state, [])]


@cache
def verdicts() -> dict[str, dict[str, Verdict]]:
    """Return the verdicts on furniture, location and enclosure."""
    return {
        which: {
            code: Verdict(row["verdict"], row["why"], row.get("instead", ""), _cite(row)) for code, row in table.items()
        }
        for which, table in _table("verdicts").items()
    }


@cache
def disagreements() -> list[dict[str, Any]]:
    """Return where sources disagree, with what brings each topic up."""
    return list(_table("disagreements").values())
