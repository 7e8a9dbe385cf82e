"""How a thing is shown, in words and as a drawn section of its frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from archive.kinds import state
from archive.preferences.units import MM_PER_INCH
from conservation.housing.assess import problem_of
from conservation.reasons import Reason, reason
from conservation.science import showing
from conservation.science.sources import Citation
from conservation.science.spots import takes
from conservation.science.words import word

# Layer → its thickness in the drawing, front to back, and whether it only lines the edges.
_THICK = {
    "glazing": (8, False), "window-mat": (16, True), "deep-mat": (28, True), "spacer": (20, True), "thing": (5, False),
    "corners": (4, True), "paste-hinges": (4, True), "edge-strips": (4, True), "back-mat": (14, False),
    "washed-cotton": (6, False), "padded-board": (22, False), "backing": (12, False), "dust-seal": (4, False),
}  # fmt: skip
_TOP, _HIGH, _EDGE, _GAP = 16, 150, 36, 3
_LEFT, _WIDE = 14, 272


@dataclass(frozen=True)
class Mount:
    """One way of showing, in words, with its drawing."""

    words: str
    drawing: str


@dataclass(frozen=True)
class Layer:
    """One layer of a frame's section: number and words for the key, and its rectangles in the drawing."""

    number: int
    code: str
    words: str
    x: float
    middle: float
    width: float
    parts: tuple[tuple[int, int], ...]  # y and height


@dataclass(frozen=True)
class HowToShow:
    """How one thing is shown, for its page."""

    mounts: list[Mount]
    left_out: list[str]
    support: list[str]
    hinges: str
    spacing: str
    glazing: str
    board: str
    layers: list[Layer]
    not_touch: list[str]
    rules: list[str]
    fixing: list[str]
    copy: str
    copy_first: bool
    nothing: bool
    on_wall: bool
    why: tuple[Reason, ...]


_COPY = {
    "": "",
    "light": "Light spoils it so fast that the original is not shown. Show a copy.",
    "danger": "It is a danger to people or to other things. It is not shown until that is dealt with; a copy may be.",
    "state": "In the state it is in, putting it up would harm it. Show a copy until a conservator has seen it.",
}


def how_to_show(thing: Any, units: str) -> HowToShow:
    """Return how a thing is shown, in words and in the keeper's units (``metric`` or ``inch``)."""
    found = showing.how_to_show(problem_of(thing))
    spacing = ""
    if found.spacing_mm:
        spacing = f"{found.spacing_mm / MM_PER_INCH:.2f} in" if units == "inch" else f"{found.spacing_mm} mm"
    return HowToShow(
        mounts=[Mount(word("mount", each), f"mount-{_DRAWN.get(each, each)}") for each in found.mounts],
        left_out=[f"{word('mount', mount)}: {_because(code)}" for mount, code in found.struck],
        support=[word("show_support", each) for each in found.support],
        hinges=word("hinges", found.hinges) if found.hinges != "none" else "",
        spacing=spacing,
        glazing=word("show_glazing", found.glazing),
        board=word("buffering", found.board) if found.board else "",
        layers=_section(found.layers),
        not_touch=[word("never", each) for each in found.not_touch],
        rules=[word("room_rule", each) for each in found.rules],
        fixing=[word("fixing", each) for each in found.fixing],
        copy=_COPY[found.why_copy],
        copy_first=found.copy_first,
        nothing=found.mounts[0] == "nothing",
        on_wall=any(each in showing.WALL for each in found.mounts),
        why=_why(found),
    )


_DRAWN = {"wall-frame": "wall-heavy", "bed-or-table": "flat-case"}


def ways_of(thing: Any) -> tuple[str, ...]:
    """Return the codes of the ways in which a thing is shown, best first."""
    return showing.how_to_show(problem_of(thing)).mounts


def made_for(spot: Any, ways: tuple[str, ...]) -> bool:
    """Say whether a spot is made for one of some ways of showing."""
    return takes(spot.form, ways)


def _because(code: str) -> str:
    """Return why a way of showing was struck out: what must never be done to it, or its state."""
    if code in showing.STRUCK:
        return f"never {word('never', code)}"
    return f"it is {state(code).name.lower()}"


def _why(found: showing.Showing) -> tuple[Reason, ...]:
    labels = {
        "mounts": "The way it is shown.", "support": "What holds it.", "hinges": "How it is held in the mat.",
        "spacing_mm": "The air behind the glass.", "glazing": "What is in front of it.", "layers": "The layers.",
    }  # fmt: skip
    reasons = [reason(labels[cell], citation) for cell, citation in found.citations.items()]
    rules = reason("Rules of the room, ladders and fixings.", Citation("trade", "showing things", "common practice"))
    kept = Citation("trade", "rules of housing", "common practice")
    touch = reason("What must not touch it follows from how it is kept.", kept)
    return (*reasons, touch, rules)


def _section(codes: tuple[str, ...]) -> list[Layer]:
    """Return the layers side by side, front to back, spread over a drawing 300 wide."""
    natural = sum(_THICK[code][0] for code in codes) or 1
    gap = _GAP * 3
    scale = (_WIDE - gap * (len(codes) - 1)) / natural if codes else 1.0
    layers, x = [], float(_LEFT)
    for number, code in enumerate(codes, 1):
        width = max(5.0, _THICK[code][0] * min(scale, 3.0))
        parts: tuple[tuple[int, int], ...] = ((_TOP, _HIGH),)
        if _THICK[code][1]:
            parts = ((_TOP, _EDGE), (_TOP + _HIGH - _EDGE, _EDGE))
        if code == "paste-hinges":
            parts = ((_TOP + 8, 16),)
        elif code == "corners":
            parts = ((_TOP + 4, 14), (_TOP + _HIGH - 18, 14))
        layers.append(
            Layer(number, code, word("layer", code), round(x, 1), round(x + width / 2, 1), round(width, 1), parts)
        )
        x += width + gap
    return layers
