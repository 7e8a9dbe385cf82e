"""What kind of thing this really is for housing: film bases, parts, and the hazards present."""

from __future__ import annotations

from dataclasses import dataclass

from archive.kinds import kind
from conservation.science.housing.problem import Input
from conservation.science.housing.tables import Row, care, hazards_of_kind, hazards_of_state, rows

LEVELS = ("take-care", "isolate-first", "leave-and-call")  # rising
UNKNOWN_BASE = frozenset({"film-unknown", "cine-film-unknown"})
ACETATE = frozenset({"acetate-film", "cine-acetate"})
FOLLOW_ACETATE = frozenset({"colour-negative", "mounted-slide"}) | UNKNOWN_BASE
FILM = ACETATE | FOLLOW_ACETATE | {"nitrate-film", "polyester-film"}
_COLOUR_FILM = {"colour-negative": "NG07C", "mounted-slide": "NG08"}
# Iron and steel, and bronze (climate code C8): with active corrosion they must be drier.
_CORRODES = frozenset({"iron-or-steel", "copper-alloy", "edged-weapon", "firearm"})
_CINE = frozenset({"cine-acetate", "cine-film-unknown"})
NITRATE_ENDS = "1952-01-01"  # film made from this day on is taken not to be nitrate
NITRATE_CALL_G = 22_700.0  # 50 lb, from which on nitrate film is a matter for the fire service
HEAVY_G = 10_000.0
LONG_MM = 1_000.0
FRAMED_MM2 = 500_000.0
LARGE_GLASS_MM = 305.0
_BATTERY_CALL = ("fire-service", "hazardous-waste")


@dataclass(frozen=True)
class Part:
    """The thing itself or a part of another material, with the row and climate code that hold for it."""

    kind: str
    row: Row
    climate: str
    nearest: bool


@dataclass(frozen=True)
class Situation:
    """A thing as the rules see it."""

    problem: Input
    states: frozenset[str]
    parts: tuple[Part, ...]  # the thing first, then its parts
    base: str  # nitrate, acetate, polyester, unknown, or nothing for what is no film
    maybe_nitrate: bool  # film of unknown base, or acetate by its mark, that may be older than 1952
    hazards: dict[str, str]  # hazard → level, in the order they came up
    count: int
    use: str

    @property
    def main(self) -> Part:
        return self.parts[0]

    @property
    def stop_level(self) -> str | None:
        return max(self.hazards.values(), key=LEVELS.index, default=None)

    @property
    def may_be_acetate(self) -> bool:
        """Film that is acetate, nitrate or not known to be polyester, in the thing or its parts."""
        return any(_film_base(part.kind, self.problem.base) not in ("", "polyester") for part in self.parts)

    @property
    def has_acetate(self) -> bool:
        """Film that is acetate or may be, in the thing or its parts: acid strips say how cold it should lie."""
        return any(_film_base(part.kind, self.problem.base) in ("acetate", "unknown") for part in self.parts)


def look_at(problem: Input) -> Situation:
    """Work out the situation of one thing."""
    states = frozenset(problem.states or ()) - {"sound"}
    kinds = list(dict.fromkeys([problem.kind, *(problem.parts or ())]))
    parts = tuple(_part(each, problem.base, states) for each in kinds)
    base = _film_base(problem.kind, problem.base)
    old = _may_be_before_1952(problem)
    unknown = any(_film_base(each, problem.base) == "unknown" and each in UNKNOWN_BASE for each in kinds)
    marked_acetate = any(each in ACETATE and problem.base is None for each in kinds)
    hazards = _hazards(problem, states, kinds, old and unknown, old and marked_acetate)
    return Situation(
        problem, states, parts, base, old and (unknown or marked_acetate), hazards, problem.count or 1,
        problem.use or "rare",
    )  # fmt: skip


def _may_be_before_1952(problem: Input) -> bool:
    earliest = problem.made.earliest if problem.made else None
    return earliest is None or earliest.startswith("-") or earliest < NITRATE_ENDS


def _film_base(kind_code: str, base: str | None) -> str:
    """Return what a film is made of as far as known; nothing for what is no film."""
    if kind_code not in FILM:
        return ""
    if kind_code == "nitrate-film":
        return "nitrate"  # whatever the base is said to be: what was once taken for nitrate is treated as nitrate
    if base is not None:
        return base
    if kind_code == "polyester-film":
        return "polyester"
    return "acetate" if kind_code in ACETATE else "unknown"


def _part(kind_code: str, base: str | None, states: frozenset[str]) -> Part:
    row, climate = care()[kind_code].housing, care()[kind_code].climate
    film = _film_base(kind_code, base)
    if film == "nitrate":
        row, climate = "NG05", "C5"
    elif film == "polyester":
        row = _COLOUR_FILM.get(kind_code, "AV04" if kind_code in _CINE else "NG07")
        climate = "C3" if kind_code in _COLOUR_FILM else "C4" if kind_code in _CINE else "C2"
    elif film == "acetate" and kind_code == "polyester-film":
        row, climate = "NG06", "C4"
    family = kind(kind_code).family
    if "active-corrosion" in states and kind_code in _CORRODES:
        climate = "C8"
    if "weeping" in states and kind_code == "glass":
        row, climate = "CG03", "C10"
    if "red-rot" in states and family == "books":
        row = "BK03"
    return Part(kind_code, rows()[row], climate, care()[kind_code].nearest)


def _hazards(
    problem: Input, states: frozenset[str], kinds: list[str], unknown_old: bool, acetate_old: bool
) -> dict[str, str]:
    found: dict[str, str] = {}

    def add(code: str, level: str) -> None:
        if code not in found or LEVELS.index(level) > LEVELS.index(found[code]):
            found[code] = level

    for each in kinds:
        if _film_base(each, problem.base) == "nitrate":
            add("nitrate", "isolate-first")
        else:
            for code, level in hazards_of_kind(each):
                add(code, level)
    for state in sorted(states):
        for code, level in hazards_of_state(state):
            add(code, level)
    if unknown_old:
        add("nitrate", "isolate-first")
    if acetate_old:
        add("nitrate", "take-care")
    if "celluloid-object" in kinds and states & {"acrid-smell", "weeping", "tacky"}:
        add("nitrate", "isolate-first")
    is_nitrate = any(_film_base(each, problem.base) == "nitrate" for each in kinds)
    if is_nitrate and ("acrid-smell" in states or (problem.weight_g or 0) >= NITRATE_CALL_G):
        add("nitrate", "leave-and-call")
    if "broken" in states and any(_is_glassy(each) for each in kinds):
        add("sharp", "take-care")
    if "active-corrosion" in states and "lead-or-pewter" in kinds:
        add("lead", "take-care")
    if (problem.weight_g or 0) > HEAVY_G:
        add("heavy", "take-care")
    return found


def _is_glassy(kind_code: str) -> bool:
    return kind_code in {
        "glass", "ceramic", "glass-negative", "lantern-slide", "autochrome", "ambrotype", "mirror-or-gilt-frame",
        "framed-work-on-paper", "daguerreotype", "miniature",
    }  # fmt: skip


def people(situation: Situation) -> int:
    """Return how many people lift the thing: two above 10 kg, above 1 m, or for large framed or glass things.

    Our defaults (kistbook); two people for plates above 10 × 12 inches by NARA-GL.
    """
    problem = situation.problem
    sides = sorted(side for side in (problem.width_mm, problem.height_mm, problem.depth_mm) if side)
    if (problem.weight_g or 0) > HEAVY_G or (sides and sides[-1] > LONG_MM):
        return 2
    kinds = {part.kind for part in situation.parts}
    if kinds & {"furniture", "carpet"}:
        return 2
    area = (problem.width_mm or 0) * (problem.height_mm or 0)
    if area > FRAMED_MM2 and any(kind(each).framed for each in kinds):
        return 2
    longer = max(problem.width_mm or 0, problem.height_mm or 0)
    return 2 if "glass-negative" in kinds and longer > LARGE_GLASS_MM else 1
