"""How a thing is shown: its mount and support, the layers of a frame, what must not touch it, rules of the room.

What housing says must never be done to a thing strikes out the ways of showing that would do it.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any

from conservation.science.housing import Input, work_out
from conservation.science.light import of_thing
from conservation.science.sources import DATA, Citation

# Ways of showing that do what `never` forbids.
STRUCK = {
    "hanging": ("padded-hanger", "sleeve-rod"),
    "laying-flat": ("flat-case", "bed-or-table"),
    "stacking": (),
    "forcing-flat": (),
    "moving": ("framed", "wall-frame", "flat-case", "sloped-board", "cradle", "cushion", "padded-hanger", "mannequin",
               "sleeve-rod", "bed-or-table", "stand", "plinth"),
    "opening": ("cradle",),
    "taking-apart": (),
    "wearing": (),
}  # fmt: skip
_WEAK = frozenset({"torn", "brittle", "broken", "shattered-silk", "red-rot", "tacky", "stuck", "taped"})
_LOOSE = frozenset({"flaking", "friable"})
# States in which only a copy is shown, though the thing itself is no danger.
# States in which only a copy is put up until a conservator has seen the thing.
COPY_STATES = frozenset(
    {"vinegar-smell", "acrid-smell", "weeping", "rolled-tight", "mould-dormant", "active-corrosion"}
)
_ILL = frozenset({"wet", "mould-active", "live-pest"})
_STOPS = ("isolate-first", "leave-and-call")
_CARRIED_BY_ITSELF = ("padded-hanger", "sleeve-rod", "mannequin")
_UPRIGHT = ("framed", "wall-frame", "sloped-board", *_CARRIED_BY_ITSELF)
_TOUCH = (
    "pvc", "wool-felt", "rubber", "wood", "acidic-paper", "buffered-contact", "adhesive-tape", "metal-clips",
    "plastic-sleeve", "sealed-plastic", "bare-hands", "cotton-gloves", "magnets", "heat", "handles", "writing-on",
)  # fmt: skip
HEAVY_G = 5_000.0  # from here on fixings are for somebody licensed (our default)
WALL = ("framed", "wall-frame", "sleeve-rod")


@dataclass(frozen=True)
class Showing:
    """How one thing is shown. ``mounts`` best first; ``struck`` is what was left out, with the reason's code."""

    mounts: tuple[str, ...]
    struck: tuple[tuple[str, str], ...]
    support: tuple[str, ...]
    hinges: str
    spacing_mm: int
    glazing: str
    layers: tuple[str, ...]
    board: str  # buffered, unbuffered, either, or nothing
    not_touch: tuple[str, ...]
    rules: tuple[str, ...]
    fixing: tuple[str, ...]
    people: int
    copy_first: bool
    why_copy: str  # light, danger, state, or nothing
    citations: dict[str, Citation]


@cache
def _rows() -> dict[str, dict[str, Any]]:
    with (DATA / "showing.toml").open("rb") as file:
        return tomllib.load(file)


@cache
def row_of_kind() -> dict[str, str]:
    """Return the class of showing of each kind."""
    return {kind: code for code, row in _rows().items() for kind in row["kinds"]}


_CELLS = {
    "mounts": "how it hangs or stands", "support": "what holds it", "hinges": "how it is held in the mat",
    "spacing_mm": "the air behind the glass", "glazing": "what is in front of it", "layers": "the layers",
}  # fmt: skip


def mounts_of(kind: str) -> tuple[str, ...]:
    """Return the ways in which an original of a kind is shown, best first; none where only a copy is, or nothing."""
    return tuple(each for each in _rows()[row_of_kind()[kind]]["mounts"] if each not in ("copy", "nothing"))


def _citation(code: str, cell: str) -> Citation:
    found = _rows()[code].get("cited", {}).get(cell)
    if found is None:
        return Citation(
            "kistbook", f"table of showing, {code.replace('-', ' ')}: {_CELLS.get(cell, cell)}", "our default"
        )
    return Citation(found["source"], found["locator"], found["status"])


def how_to_show(problem: Input) -> Showing:
    """Return how a thing is shown. Weights in g, sizes in mm; sources stand in ``citations``, by cell."""
    code = row_of_kind()[problem.kind]
    row = _rows()[code]
    housing = work_out(problem)
    never, states = set(housing["never"]), set(problem.states or ())
    why_copy = _why_copy(problem, housing, states)
    mounts, struck = _mounts(list(row["mounts"]), never, states)
    if why_copy == "danger":
        mounts = ["nothing"]
    elif why_copy or not mounts:
        why_copy = why_copy or "state"
        mounts = ["copy"]
    shown = mounts[0] not in ("copy", "nothing")
    framed = shown and any(each in ("framed", "wall-frame", "sloped-board", "flat-case") for each in mounts)
    support = [each for each in row["support"] if shown or not row["layers"]]
    if "opening" in never and "cushion-under-lid" in support:
        support.remove("cushion-under-lid")
    return Showing(
        mounts=tuple(mounts),
        struck=tuple(struck),
        support=tuple(support) if shown or code in ("transparency", "dangerous", "private") else (),
        hinges=row["hinges"] if framed else "none",
        spacing_mm=row["spacing_mm"] if framed else 0,
        glazing=row["glazing"] if framed else "none",
        layers=tuple(row["layers"]) if framed else (),
        board=housing_board(housing) if framed and row["layers"] else "",
        not_touch=tuple(each for each in _TOUCH if each in never),
        rules=("no-food", "dust", "vacuum", "look", "dark") if mounts[0] != "nothing" else (),
        fixing=_fixing(problem, mounts, housing["people"]),
        people=housing["people"],
        copy_first="light" in never and shown,
        why_copy=why_copy,
        citations={cell: _citation(code, cell) for cell in ("mounts", "support", "hinges", "spacing_mm", "glazing",
                                                            "layers")},
    )  # fmt: skip


def housing_board(housing: dict[str, Any]) -> str:
    """Return whether mats and boards are buffered, as the first enclosure has it."""
    if "buffered-contact" in housing["never"]:
        return "unbuffered"
    return next((each["buffering"] for each in housing["enclosures"] if each["buffering"] != "not-applicable"), "")


def _why_copy(problem: Input, housing: dict[str, Any], states: set[str]) -> str:
    if (housing["stop"] and housing["stop"]["level"] in _STOPS) or states & _ILL:
        return "danger"
    if not of_thing(problem.kind, tuple(problem.parts or ()), tuple(problem.states or ())).shown_at_all:
        return "light"
    return "state" if states & COPY_STATES else ""


def _mounts(mounts: list[str], never: set[str], states: set[str]) -> tuple[list[str], list[tuple[str, str]]]:
    """Return the ways of showing that are left, and what was struck out with the code of why."""
    struck: list[tuple[str, str]] = []
    for code in sorted(never):
        for mount in STRUCK.get(code, ()):
            if mount in mounts:
                mounts.remove(mount)
                struck.append((mount, code))
    weak, loose = sorted(states & _WEAK), sorted(states & _LOOSE)
    for mount in list(mounts):
        if weak and mount in _CARRIED_BY_ITSELF:
            mounts.remove(mount)
            struck.append((mount, weak[0]))
        elif loose and mount in _UPRIGHT:
            mounts.remove(mount)
            struck.append((mount, loose[0]))
    return mounts, struck


def _fixing(problem: Input, mounts: list[str], people: int) -> tuple[str, ...]:
    if mounts[0] in ("copy", "nothing"):
        return ()
    on_wall = any(each in WALL for each in mounts)
    heavy = (problem.weight_g or 0) > HEAVY_G or people == 2
    found = ["ladder"] if on_wall else []
    if heavy:
        found.append("heavy")
    if on_wall:
        found += ["before-drilling", "no-nail", "check-wire", "away-from-heads"]
    return tuple(found)
