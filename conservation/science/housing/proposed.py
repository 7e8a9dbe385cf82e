"""Checking what the keeper has in mind: furniture, enclosure, place, pH, tube, gloves and stack."""

from __future__ import annotations

from dataclasses import dataclass

from archive.kinds import kind
from conservation.science.housing import climate, rules
from conservation.science.housing.rules import Housing
from conservation.science.housing.situation import Situation
from conservation.science.housing.tables import verdicts
from conservation.science.sources import Citation
from conservation.science.words import word

# Bands of pH for paper and board in contact (0a: LOC-PP for paper; DL-WAG quoting ANSI IT9.2 for photographs).
_PAPER_PH, _BW_PH, _COLOUR_PH, _UNBUFFERED_PH = (7.5, 10.0), (7.0, 9.5), (7.0, 8.0), (6.5, 8.5)
_COLOUR = frozenset(
    {
        "colour-print",
        "resin-coated-print",
        "colour-negative",
        "mounted-slide",
        "dye-transfer-print",
        "dye-destruction-print",
    }
)
_BLACK_AND_WHITE = frozenset(
    {
        "silver-gelatin-print", "glass-negative", "lantern-slide", "autochrome", "nitrate-film", "acetate-film",
        "polyester-film", "film-unknown", "cine-acetate", "cine-film-unknown",
    }
)  # fmt: skip
_NOT_COLD = frozenset({"glass-negative", "lantern-slide", "autochrome", "instant-print", "magnetic-tape", "tintype"})


@dataclass(frozen=True)
class Refusal:
    """One thing proposed that would harm: which field, why, and what instead."""

    what: str
    why: str
    instead: str
    citation: Citation


def check(situation: Situation, built: Housing, limits: climate.Limits) -> list[Refusal]:
    """Return what of the proposal is refused."""
    proposed = situation.problem.proposed
    if proposed is None:
        return []
    if situation.stop_level == "leave-and-call":
        return [
            Refusal(field, "It must not be touched or moved.", "Leave it where it is and call.", _ours("stop first"))
            for field, value in proposed
            if value is not None
        ]
    found = [
        _furniture(situation, built, proposed.furniture),
        _enclosure(situation, built, proposed.enclosure),
        _location(situation, built, proposed.location, limits),
        _ph(situation, built, proposed.ph),
        _tube(situation, built, proposed.tube_diameter_mm),
        _gloves(built, proposed.gloves),
        _stack(built, proposed.stack),
    ]
    return [each for each in found if each is not None]


def _ours(what: str) -> Citation:
    return Citation("kistbook", what, "our default")


def _best(built: Housing) -> str:
    """Return the first enclosure advised, in words."""
    first = built.enclosures[0]
    form, material = word("form", str(first["form"])), word("material", str(first["material"]))
    return f"Use {form}{f' of {material}' if material else ''}."


def _furniture(situation: Situation, built: Housing, code: str | None) -> Refusal | None:
    if code is None:
        return None
    row = verdicts()["furniture"][code]
    damp_or_unknown = climate.is_damp(situation.problem.room) or not climate.is_measured_for_damp(
        situation.problem.room
    )
    wooden = code in ("painted-wood-acrylic",) and "wood" in built.never
    tight = code in ("plastic-tub", "biscuit-tin") and ("sealed-plastic" in built.never or "acetate" in situation.base)
    tub = code == "plastic-tub" and damp_or_unknown
    tin = code == "biscuit-tin" and climate.is_damp(situation.problem.room)
    if row.verdict == "poor" or wooden or tight or tub or tin:
        return Refusal("furniture", row.why, row.instead, row.citation)
    return None


def _enclosure(situation: Situation, built: Housing, code: str | None) -> Refusal | None:
    if code is None:
        return None
    row = verdicts()["enclosure"][code]
    damp = climate.is_damp(situation.problem.room)
    never = built.never
    why = row.why
    refused = row.verdict == "poor"
    if row.verdict == "plastic":
        refused = "plastic-sleeve" in never or damp or "wet" in situation.states
        why = "A damp room and a clear sleeve together make pictures stick." if damp else row.why
    elif row.verdict == "buffered":
        refused = "buffered-contact" in never or built.buffering == "unbuffered"
    elif row.verdict == "hanging":
        refused = "hanging" in never or built.position != "hung"
    elif row.verdict == "sealed":
        refused = "sealed-plastic" in never or "plastic-sleeve" in never or damp or "wet" in situation.states
    elif row.verdict == "good" and "folder" in code:
        refused = "wet" in situation.states
        why = "Wet things are not wrapped."
    return Refusal("enclosure", why, _best(built), row.citation) if refused else None


def _location(situation: Situation, built: Housing, code: str | None, limits: climate.Limits) -> Refusal | None:
    if code is None:
        return None
    row = verdicts()["location"][code]
    if row.verdict == "poor":
        return Refusal("location", row.why, row.instead, row.citation)
    if row.verdict not in ("cold", "frozen"):
        return None
    kinds = {part.kind for part in situation.parts}
    best = limits.temperature_best_c
    cold_kind = best is not None and best[1] <= 5 and not kinds & _NOT_COLD
    if "nitrate" in situation.hazards and situation.hazards["nitrate"] != "take-care":
        return Refusal(
            "location",
            "Nitrate goes into no household appliance without advice.",
            "Ask the fire service and a film archive.",
            row.citation,
        )
    if not cold_kind or (row.verdict == "frozen" and "freezing" in built.never):
        return Refusal("location", row.why, row.instead, row.citation)
    return None


def ph_band(situation: Situation, built: Housing) -> tuple[float, float]:
    """Return the band of pH for paper and board in contact with a thing and its parts."""
    bands = [_ph_of(part.kind, built, part.row.buffering) for part in situation.parts]
    low, high = max(band[0] for band in bands), min(band[1] for band in bands)
    return (low, high) if low <= high else _ph_of(situation.main.kind, built, situation.main.row.buffering)


def _ph_of(kind_code: str, built: Housing, buffering: str) -> tuple[float, float]:
    if kind_code in _COLOUR:
        return _COLOUR_PH
    if kind_code in _BLACK_AND_WHITE:
        return _BW_PH
    if buffering == "unbuffered":
        return _UNBUFFERED_PH
    if buffering == "either":
        return _UNBUFFERED_PH[0], _PAPER_PH[1]
    return _PAPER_PH if kind(kind_code).family in ("paper", "books", "paintings") else _UNBUFFERED_PH


def _ph(situation: Situation, built: Housing, value: float | None) -> Refusal | None:
    if value is None:
        return None
    low, high = ph_band(situation, built)
    if low <= value <= high:
        return None
    way = "too alkaline" if value > high else "too acid"
    source = (
        Citation("LOC-PP", "comparison of standards", "confirmed")
        if (low, high) == _PAPER_PH
        else Citation("DL-WAG", "quoting ANSI IT9.2", "second-hand")
    )
    if (low, high) == _UNBUFFERED_PH:
        source = Citation("NE-5.5", "unbuffered papers", "confirmed")
    return Refusal("ph", f"pH {value:g} is {way} for it.", f"Use paper or board of pH {low:g} to {high:g}.", source)


def _tube(situation: Situation, built: Housing, diameter: float | None) -> Refusal | None:
    if diameter is None:
        return None
    if built.tube is None:
        why = "It must not be rolled." if not rules.can_roll(situation) else "It is small enough to lie flat."
        return Refusal(
            "tube_diameter_mm",
            why,
            f"{word('position', built.position)}. {_best(built)}",
            Citation("COG-13/5", "rolled storage", "confirmed"),
        )
    least, most = built.tube["diameter_min_mm"], built.tube["diameter_max_mm"]
    if diameter < least:
        return Refusal(
            "tube_diameter_mm", f"A tube of {diameter:g} mm bends it too tightly.",
            f"Use a tube of {least:g} to {most:g} mm.", Citation("COG-13/5", "rolled storage", "confirmed"),
        )  # fmt: skip
    return None


def _gloves(built: Housing, code: str | None) -> Refusal | None:
    if code is None or code in built.gloves:
        return None
    banned = {"cotton-lint-free": "cotton-gloves", "bare-clean": "bare-hands", "none-needed": "bare-hands"}.get(code)
    protective_first = built.gloves and built.gloves[0] not in ("bare-clean", "none-needed")
    if banned in built.never or (code == "none-needed" and protective_first):
        instead = f"Use {word('gloves', built.gloves[0])}." if built.gloves else "Do not touch it."
        why = {
            "cotton-lint-free": "Cotton slips and snags on it.",
            "bare-clean": "Bare skin harms it, or it harms you.",
            "none-needed": "It should not be touched with nothing on the hands.",
        }[code]
        return Refusal("gloves", why, instead, _ours("gloves"))
    return None


def _stack(built: Housing, pieces: int | None) -> Refusal | None:
    if pieces is None or built.max_stack is None or pieces <= built.max_stack:
        return None
    instead = "Lay or stand each by itself." if built.max_stack == 1 else f"Stack at most {built.max_stack}."
    return Refusal("stack", f"A pile of {pieces} presses too hard on the lowest.", instead, _ours("stacks"))
