"""The rules in their order (`reference` §1c): hazard, decay, most demanding part, surface, film, size, use, room."""

from __future__ import annotations

from dataclasses import dataclass, field

from archive.kinds import kind
from conservation.science.freezing import is_refused
from conservation.science.housing import climate
from conservation.science.housing.situation import HEAVY_G, Situation
from conservation.science.housing.tables import FORMS_OF_PLASTIC, PLASTICS

# Rooms for enclosures in mm on each side, by form (our defaults).
_CLEARANCE_MM = {
    "sleeve": 3.0, "four-flap": 3.0, "paper-envelope": 3.0, "polyester-jacket": 3.0, "folder": 6.0,
    "flat-box": 10.0, "document-box": 10.0, "drop-spine-box": 10.0, "vented-box": 10.0, "vented-can": 10.0,
    "slotted-box": 10.0, "sink-mat": 10.0, "window-mat": 10.0, "bag": 10.0, "jewel-case": 10.0, "open-tray": 25.0,
    "textile-box": 25.0, "padded-box": 25.0, "cotton-cover": 25.0,
}  # fmt: skip
_CASED_BOX_MM = 3.0  # a box for a cased photograph is "a few mm" wider than the case (SAAM)
_FOR_EACH_PIECE = frozenset(
    {"sleeve", "four-flap", "paper-envelope", "folder", "polyester-jacket", "window-mat", "sink-mat"}
)
SHEET_MM = (610.0, 762.0)  # up to this a sheet lies flat
_SURFACE = frozenset({"flaking", "friable"})
_NEVER_ROLLED = frozenset({"flaking", "friable", "brittle", "stuck", "shattered-silk"})
_PAINTED = frozenset({"watercolour", "pastel-or-charcoal", "crayon-or-hand-coloured-portrait"})
_PROTEIN_OR_COLOUR = frozenset(
    {
        "silk-textile", "wool-textile", "mixed-textile", "lace-or-embroidery", "fur", "leather", "hair",
        "feather-or-taxidermy", "cyanotype", "blueprint", "colour-print", "colour-negative", "mounted-slide",
        "dye-transfer-print", "dye-destruction-print", "resin-coated-print", "instant-print", "parchment",
        "ivory-bone-horn", "leather-book", "hat-shoe-or-accessory", "garment", "knitted-garment",
        "beaded-or-bias-garment", "medal-with-ribbon", "quilt", "flag", "carpet", "umbrella-or-fan",
    }
)  # fmt: skip
ROLLABLE_SHEETS = frozenset(
    {
        "map-or-plan",
        "poster",
        "document",
        "newspaper",
        "certificate",
        "blueprint",
        "print-or-drawing",
        "diazo-or-office-copy",
    }
)
ROLLABLE_TEXTILES = frozenset(
    {"flag", "carpet", "lace-or-embroidery", "cotton-or-linen-textile", "wool-textile", "mixed-textile", "silk-textile"}
)
_PHOTOGRAPHIC = frozenset({"photographs", "film"})
_FLEXIBLE = frozenset({"photographs", "paper", "textiles", "paintings"})
_TEXTILE_TUBE_MM, _PAPER_TUBE_MM = (75.0, 150.0), (100.0, 150.0)
_FUMES = frozenset({"nitrate", "acid-fumes", "mould", "radium", "chemical"})
_ISOLATION_BAG = frozenset({"mould", "pest", "arsenic", "pesticide", "asbestos"})
_OPEN_POSITIONS = frozenset({"upright", "upright-long-edge", "hung", "rolled", "as-used"})
# All that may be done about a thing that must not be moved; whatever else would help waits.
_WHILE_STOPPED = frozenset({"call-official", "legal-check", "ask-conservator"})
_POISON_DUST = frozenset({"asbestos", "arsenic", "mercury", "radium", "pesticide"})


@dataclass
class Housing:
    """The advice as it is built up."""

    enclosures: list[dict[str, object]]
    buffering: str
    support: str
    interleaf: str
    position: str
    fill: str
    max_stack: int | None
    max_pile_mm: int | None
    never: list[str]
    gloves: list[str]
    meanwhile: list[str]
    actions: list[str]
    prepare: list[str] = field(default_factory=list)
    tube: dict[str, float] | None = None
    notes: list[str] = field(default_factory=list)

    def forbid(self, *codes: str) -> None:
        self.never.extend(code for code in codes if code not in self.never)

    def allow(self, *codes: str) -> None:
        self.never = [code for code in self.never if code not in codes]

    def act(self, *codes: str, first: bool = False) -> None:
        fresh = [code for code in codes if code not in self.actions]
        self.actions = [*fresh, *self.actions] if first else [*self.actions, *fresh]


def house(situation: Situation) -> Housing:
    """Work out the ordinary housing of a thing, or its isolation where a hazard of the second level asks for it."""
    row = situation.main.row
    built = Housing(
        enclosures=[], buffering=row.buffering, support=row.support, interleaf=row.interleaf, position=row.position,
        fill=row.fill, max_stack=row.max_stack, max_pile_mm=row.max_pile_mm, never=[], gloves=list(row.gloves),
        meanwhile=list(row.meanwhile), actions=[],
    )  # fmt: skip
    _forbid_by_parts(situation, built)
    _decay(situation, built)
    _contact(situation, built)
    _surface(situation, built)
    _film(situation, built)
    _shape(situation, built)
    _hazard_actions(situation, built)
    _kind_actions(situation, built)
    _gloves(situation, built)
    _prepare(situation, built)
    _room_actions(situation, built)
    built.enclosures = _enclosures(situation, built)
    _tidy(situation, built)
    return built


def _forbid_by_parts(situation: Situation, built: Housing) -> None:
    """The most demanding part governs: what any part forbids is forbidden, the smallest stack holds."""
    for part in situation.parts:
        built.forbid(*part.row.never)
        if part is not situation.main and situation.main.row.position not in _OPEN_POSITIONS:
            for name in ("max_stack", "max_pile_mm"):
                theirs, ours = getattr(part.row, name), getattr(built, name)
                if theirs is not None and (ours is None or theirs < ours):
                    setattr(built, name, theirs)
    # What the thing itself must do cannot be forbidden by a part (a ribbon that should lie flat on a medal).
    if built.position in ("upright", "upright-long-edge"):
        if "laying-flat" not in situation.main.row.never:
            built.allow("laying-flat")
    elif built.position == "flat":
        built.allow("laying-flat")


def _decay(situation: Situation, built: Housing) -> None:
    states = situation.states
    families = {kind(part.kind).family for part in situation.parts}
    if "brittle" in states:
        built.forbid("folding", "rolling")
        if built.support == "none":
            built.support = "board"
    if states & {"torn", "taped"}:
        built.forbid("adhesive-tape")
        if built.support == "none" and "paper" in families:
            built.support = "folder"
    if "broken" in states:
        built.forbid("adhesive-tape", "stacking")
        built.max_stack = 1
    if "stuck" in states:
        built.forbid("taking-apart", "forcing-flat", "rolling")
        built.act("ask-conservator", "copy")
    if "tacky" in states:
        built.forbid("cotton-gloves", "acidic-paper", "stacking", "heat")
        built.max_stack = 1
        built.act("isolate")
    if "rolled-tight" in states:
        built.forbid("forcing-flat")
    if "faded" in states:
        built.forbid("light")
        built.act("copy")
    if "sooty" in states:
        built.forbid("wetting")
        built.act("ask-conservator")
    if "musty" in states:
        built.act("quarantine", "monitor")
    if "silver-mirroring" in states:
        built.forbid("plastic-sleeve")
    if "shattered-silk" in states:
        built.forbid("folding", "rolling", "hanging", "wearing")
        built.act("ask-conservator")
    if "hand-coloured" in states:
        built.forbid("wetting", "light", "plastic-sleeve")
    if "vinegar-smell" in states:
        built.forbid("sealed-plastic", "plastic-sleeve", "heat")
        built.act("isolate", "copy", "monitor")
    if "acrid-smell" in states:
        built.forbid("sealed-plastic", "plastic-sleeve", "heat", "light")
        built.act("isolate", "ask-conservator")
    if "weeping" in states:
        built.forbid("sealed-plastic", "plastic-sleeve", "stacking")
        built.max_stack = 1
        built.act("isolate", "ask-conservator")
    if "active-corrosion" in states:
        built.forbid("wetting", "polishing", "bare-hands")
        built.act("isolate", "ask-conservator")
    if "red-rot" in states:
        built.forbid("dressing-or-oil", "bare-hands")
    if "mould-dormant" in states:
        built.forbid("sealed-plastic", "plastic-sleeve")
        built.act("quarantine", "monitor")
    if "flaking" in states:
        built.act("ask-conservator")


def _contact(situation: Situation, built: Housing) -> None:
    """Paper in contact is unbuffered if any part is of protein fibre, colour photograph or cyanotype."""
    must = any(part.kind in _PROTEIN_OR_COLOUR or "buffered-contact" in part.row.never for part in situation.parts)
    if must:
        built.forbid("buffered-contact")
        if built.buffering in ("buffered", "either"):
            built.buffering = "unbuffered"
        built.interleaf = {"buffered-paper": "unbuffered-paper", "buffered-tissue": "unbuffered-tissue"}.get(
            built.interleaf, built.interleaf
        )
    elif built.buffering == "buffered" and any(part.row.buffering == "unbuffered" for part in situation.parts):
        built.buffering = "unbuffered"


def _surface(situation: Situation, built: Housing) -> None:
    """Flaking or powdery: no plastic, flat, nothing touching."""
    if not situation.states & _SURFACE:
        return
    built.forbid("plastic-sleeve", "rolling", "folding", "stacking", "hanging")
    built.allow("laying-flat")
    built.position, built.max_stack, built.max_pile_mm = "flat", 1, None
    built.fill, built.interleaf = "single-layer", "none"
    if built.support in ("none", "folder", "dividers", "full-shelf", "padding-rolls", "core"):
        built.support = "board"


def _film(situation: Situation, built: Housing) -> None:
    if not situation.may_be_acetate:
        return
    built.forbid("sealed-plastic", "plastic-sleeve")
    if situation.maybe_nitrate:
        built.forbid("burn-or-float-test", "projecting")
        built.act("test-base")
    if situation.hazards.get("nitrate") == "isolate-first" and situation.base == "unknown":
        built.act("isolate")


def _shape(situation: Situation, built: Housing) -> None:
    """Sheets up to 610 × 762 mm lie flat; larger may be rolled unless flaking, friable, painted, brittle or stuck."""
    problem, name = situation.problem, situation.problem.kind
    may_roll = can_roll(situation)
    if not may_roll:
        if kind(name).family in _FLEXIBLE and not kind(name).bound:
            built.forbid("rolling")
        if built.position == "rolled":
            built.position, built.fill = "flat", "single-layer"
    if built.position == "folded-padded" and "folding" in built.never:
        built.position = "flat"
    if built.position == "hung" and ("hanging" in built.never or situation.states & {"torn", "brittle", "wet"}):
        built.forbid("hanging")
        built.position = "flat"
    large = is_oversize(situation)
    if may_roll and large and name in ROLLABLE_SHEETS | ROLLABLE_TEXTILES:
        built.position = "rolled"
    if built.position == "rolled":
        built.allow("rolling")
        textile = kind(name).family == "textiles"
        low, high = _TEXTILE_TUBE_MM if textile else _PAPER_TUBE_MM
        shorter = min((side for side in (problem.width_mm, problem.height_mm) if side), default=None)
        length = (
            None
            if shorter is None or not (problem.width_mm and problem.height_mm)
            else shorter + (100 if textile else 50)
        )
        built.tube = {"diameter_min_mm": low, "diameter_max_mm": high, "length_min_mm": length}  # type: ignore[dict-item]
        built.support = "end-cradles" if textile else "core"
        built.max_stack, built.max_pile_mm = 1, None
        built.forbid("stacking")


def is_oversize(situation: Situation) -> bool:
    """Say whether a sheet is larger than 610 × 762 mm, turned either way."""
    sides = sorted(side for side in (situation.problem.width_mm, situation.problem.height_mm) if side)
    if len(sides) < 2:
        return bool(sides) and sides[0] > SHEET_MM[1]
    return sides[0] > SHEET_MM[0] or sides[1] > SHEET_MM[1]


def can_roll(situation: Situation) -> bool:
    """Say whether a thing may be rolled at all."""
    kinds = {part.kind for part in situation.parts}
    if situation.states & _NEVER_ROLLED or kinds & _PAINTED:
        return False
    if any("rolling" in part.row.never for part in situation.parts):
        return False
    families = {kind(each).family for each in kinds}
    if families & _PHOTOGRAPHIC and not kinds <= {"blueprint"}:
        return False
    return situation.problem.kind in ROLLABLE_SHEETS | ROLLABLE_TEXTILES


def _refuses_cold(situation: Situation) -> bool:
    """Say whether the thing or a part of it must not be treated by cold, as the table of freezing has it."""
    parts = [part.kind for part in situation.parts]
    return is_refused(situation.problem.kind, situation.states, parts)


def _hazard_actions(situation: Situation, built: Housing) -> None:
    level, hazards = situation.stop_level, situation.hazards
    if level == "leave-and-call":
        built.act("call-official")
        built.forbid("moving")
        return
    if level == "isolate-first":
        built.act("isolate", first=True)
    if "mould" in hazards and hazards["mould"] == "isolate-first":
        built.act("quarantine")
    if "pest" in hazards:
        built.act("quarantine")
        if not hazards.keys() & _FUMES and "wet" not in situation.states and "plastic-sleeve" not in built.never:
            # Until it is treated the bag keeps the insects in; what dislikes plastic bears it for those weeks.
            built.allow("sealed-plastic")
            built.meanwhile = [code for code in built.meanwhile if code != "washed-cotton-sheet"]
        if "freezing" not in built.never and not _refuses_cold(situation):
            built.act("pest-freeze")
        built.act("monitor")
    if hazards.keys() & {"firearm", "human-remains", "protected-species"}:
        built.act("legal-check")
    if "firearm" in hazards or "medicine" in hazards or "asbestos" in hazards or "radium" in hazards:
        built.act("call-official")
    if "battery-inside" in situation.states:
        built.act("ask-conservator" if "opening" in built.never else "remove-battery")
        built.forbid("playing-or-powering")
    if hazards.keys() & {"arsenic", "mercury", "pesticide", "lead", "mould", "radium"}:
        built.forbid("bare-hands")
    if any(hazards.get(code) == "isolate-first" for code in _POISON_DUST):
        built.forbid("cleaning")  # ordinary advice is blocked, and here the dust itself is the poison
    if "nitrate" in hazards:
        built.forbid("heat", "light", "burn-or-float-test")


def _kind_actions(situation: Situation, built: Housing) -> None:
    """Film and colour are slowed by cold; acid strips decide how cold for acetate."""
    strip = situation.problem.strip_level
    kinds = {part.kind for part in situation.parts}
    if situation.has_acetate:
        if strip is None:
            built.act("strip-test")
            if "vinegar-smell" in situation.states:
                built.act("cold-store")
        elif strip == 0:
            built.act("cold-store")
        elif strip in (1, 1.5):
            built.act("cold-store", "monitor")
        elif strip == 2:
            built.act("frozen-store", "copy")
        else:
            built.actions = ["copy", *(code for code in built.actions if code != "copy")]
            built.act("frozen-store")
    elif kinds & {"colour-print", "resin-coated-print", "colour-negative", "mounted-slide"}:
        built.act("cold-store")
    if kinds & {"thermal-paper", "newspaper", "diazo-or-office-copy", "self-stick-album", "magnetic-tape"}:
        built.act("copy")


def _gloves(situation: Situation, built: Housing) -> None:
    """Every part's hands must be safe for every other: protective gloves win over bare hands."""
    wanted = list(built.gloves)
    for part in situation.parts[1:]:
        if part.row.gloves[0] == "nitrile" and wanted[0] in ("bare-clean", "none-needed"):
            wanted.insert(0, "nitrile")
    if "bare-hands" in built.never or situation.stop_level == "isolate-first" or "lead" in situation.hazards:
        built.forbid("bare-hands")
        wanted = ["nitrile", *(code for code in wanted if code not in ("bare-clean", "none-needed", "nitrile"))]
        if situation.main.row.gloves[0] == "cotton-lint-free" and situation.stop_level != "isolate-first":
            wanted = ["cotton-lint-free", *(code for code in wanted if code != "cotton-lint-free")]
    if "sharp" in situation.hazards:
        wanted.insert(0, "cut-resistant")
    forbidden = {"cotton-gloves": ("cotton-lint-free",), "bare-hands": ("bare-clean", "none-needed")}
    banned = {glove for code in built.never for glove in forbidden.get(code, ())}
    built.gloves = list(dict.fromkeys(code for code in wanted if code not in banned)) or ["nitrile"]


def _prepare(situation: Situation, built: Housing) -> None:
    states = situation.states
    built.prepare = ["photograph-as-found"]
    if situation.count > 1:
        built.prepare += ["keep-wrapper", "note-order"]
    if "rusty-fasteners" in states:
        built.prepare.append("remove-loose-fasteners")
    if "taped" in states:
        built.prepare.append("leave-taped")
    if "rolled-tight" in states:
        photograph = kind(situation.problem.kind).family in _PHOTOGRAPHIC
        stays = bool(states & {"brittle", "flaking"}) or photograph
        built.prepare.append("leave-rolled" if stays else "unfold-if-willing")
    kinds = [kind(part.kind) for part in situation.parts]
    blocked = situation.stop_level in ("leave-and-call", "isolate-first")  # dusting is ordinary advice
    gentle = states & {"friable", "flaking", "shattered-silk", "mould-active", "wet"}
    built.prepare.append("no-dusting" if gentle or blocked else "dust-soft-brush")
    if any(each.framed for each in kinds):
        built.prepare.append("leave-in-frame")
    if any(each.cased for each in kinds):
        built.prepare.append("leave-in-case")


def _room_actions(situation: Situation, built: Housing) -> None:
    if climate.is_damp(situation.problem.room) and "moving" not in built.never:
        built.act("move-room", first=True)
    if (situation.problem.weight_g or 0) > HEAVY_G:
        built.forbid("stacking")
        built.max_stack = 1


# -- enclosures --------------------------------------------------------------------------------------------------


def _enclosures(situation: Situation, built: Housing) -> list[dict[str, object]]:
    if situation.stop_level == "leave-and-call":
        return []
    if "wet" in situation.states:
        return [_enclosure(situation, built, "open-tray", "none", "Wet things dry apart, in the open air.")]
    if situation.stop_level == "isolate-first":
        return _isolation(situation, built)
    pairs = _allowed(situation, built, list(situation.main.row.enclosures))
    if built.position == "rolled":
        pairs = [("tube-outside", "paper-or-board"), *(p for p in pairs if p[0] == "cotton-cover")]
    if situation.states & _SURFACE and not any(form in ("sink-mat", "flat-box", "open-tray") for form, _ in pairs):
        pairs = [("sink-mat", "paper-or-board"), *pairs]
    if not pairs:
        pairs = [("flat-box", "paper-or-board")]
    pairs = _by_use_and_room(situation, built, pairs)
    return [_enclosure(situation, built, form, material, _why(situation, form, material)) for form, material in pairs]


def _allowed(situation: Situation, built: Housing, pairs: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Leave out what the thing's own prohibitions forbid."""
    never, damp = built.never, climate.is_damp(situation.problem.room)
    kept = []
    for form, material in pairs:
        plastic = material in PLASTICS and form in FORMS_OF_PLASTIC
        if plastic and ("plastic-sleeve" in never or damp):
            continue
        if (form == "bag" or material == "silica-gel-box") and "sealed-plastic" in never:
            continue
        if form == "padded-hanger" and "hanging" in never:
            continue
        if form == "tube-outside" and built.position != "rolled":
            continue
        if form == "cotton-cover" and situation.states & _SURFACE:
            continue
        kept.append((form, material))
    was_hung_or_rolled = situation.main.row.position in ("hung", "rolled")
    if built.position == "flat" and was_hung_or_rolled and not any(form.endswith("box") for form, _ in kept):
        kept.insert(0, ("textile-box", "paper-or-board"))
    return kept


def _by_use_and_room(situation: Situation, built: Housing, pairs: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Weekly use in a measured, dry room: a clear sleeve first; else paper first, and no plastic first in damp."""
    room = situation.problem.room
    dry = climate.is_measured_for_damp(room) and not climate.is_damp(room)

    def is_clear(pair: tuple[str, str]) -> bool:
        return pair[0] in FORMS_OF_PLASTIC and pair[1] in PLASTICS

    if situation.main.row.loose and situation.use == "weekly" and dry and "plastic-sleeve" not in built.never:
        sleeves = [pair for pair in pairs if pair[0] == "sleeve" and is_clear(pair)] or [("sleeve", "polyester")]
        return [*sleeves, *(pair for pair in pairs if pair not in sleeves)]
    if dry and not situation.main.row.loose:
        return pairs
    plain = [pair for pair in pairs if not is_clear(pair)]
    if not plain and not dry:
        plain = [("flat-box", "paper-or-board")]
    return [*plain, *(pair for pair in pairs if is_clear(pair))]


def _isolation(situation: Situation, built: Housing) -> list[dict[str, object]]:
    hazards = {code for code, level in situation.hazards.items() if level == "isolate-first"}
    why = "To keep it apart until the hazard is dealt with."
    sealed = "sealed-plastic" in built.never or "plastic-sleeve" in built.never
    if hazards & _ISOLATION_BAG and not sealed:
        return [_enclosure(situation, built, "bag", "polyethylene", why)]
    pairs = [
        (form, material)
        for form, material in situation.main.row.enclosures
        if not (material in PLASTICS and form in FORMS_OF_PLASTIC)
        and not (form == "padded-hanger" and "hanging" in built.never)
        and form not in ("tube-outside", "none", "shelf", "frame")
        and material != "silica-gel-box"
    ]
    if not any(form in ("vented-box", "vented-can", "open-tray", "padded-box") for form, _ in pairs):
        pairs = [("vented-box", "paper-or-board")]
    return [_enclosure(situation, built, form, material, why) for form, material in pairs]


def _why(situation: Situation, form: str, material: str) -> str:
    if form == "sleeve" and material in PLASTICS:
        return "A clear sleeve lets it be seen without being touched, in a dry room."
    if form in ("four-flap", "paper-envelope", "folder"):
        return "Paper lets air through and suits rooms whose damp is not known."
    if form in ("sink-mat",):
        return "Nothing touches its surface."
    if form in ("own-case", "frame", "jewel-case"):
        return "It was made for it; the case is part of the thing."
    if form in ("vented-box", "vented-can"):
        return "Fumes and damp can leave."
    if form.endswith("box"):
        return "A box keeps off light, dust and knocks."
    if form == "tube-outside":
        return "Rolled outside a wide tube it needs no fold."
    return "It suits its shape and what it is made of."


def _enclosure(situation: Situation, built: Housing, form: str, material: str, why: str) -> dict[str, object]:
    buffering = built.buffering if material in ("paper-or-board", "tissue") else "not-applicable"
    return {
        "form": form,
        "material": material,
        "buffering": buffering,
        "inner_mm": inner_mm(situation, form),
        "why": why,
    }


def inner_mm(situation: Situation, form: str) -> list[float] | None:
    """Return the inner size of an enclosure in mm: width, height and depth with clearance on each side.

    One for each piece for sleeves, wrappers and folders; all pieces together for boxes. None where a size is missing
    or the form has no inside.
    """
    problem = situation.problem
    clearance = _CLEARANCE_MM.get(form)
    if form == "flat-box" and situation.main.row.code in ("PH01", "PH02"):
        clearance = _CASED_BOX_MM
    if clearance is None or not (problem.width_mm and problem.height_mm and problem.depth_mm):
        return None
    pieces = 1 if form in _FOR_EACH_PIECE else situation.count
    return [
        round(problem.width_mm + 2 * clearance, 3),
        round(problem.height_mm + 2 * clearance, 3),
        round(problem.depth_mm * pieces + 2 * clearance, 3),
    ]


def _tidy(situation: Situation, built: Housing) -> None:
    """Last of all: nothing recommended may stand under `never`, and a stopped thing gets no ordinary advice."""
    if situation.stop_level == "leave-and-call":
        built.support, built.interleaf, built.position = "none", "none", "as-used"
        built.fill, built.max_stack, built.max_pile_mm, built.tube = "not-filled", None, None, None
        built.meanwhile, built.gloves = [], ["nitrile"] if "bare-hands" in built.never else []
        built.actions = [code for code in built.actions if code in _WHILE_STOPPED]
        built.act("call-official", first=True)
        built.forbid("moving")
        return
    if "wet" in situation.states:
        built.meanwhile = ["apart-in-open-air"]
        built.interleaf, built.fill, built.max_stack, built.max_pile_mm = "none", "single-layer", 1, None
        built.tube = None
        if built.position in ("rolled", "folded-padded", "hung") or "laying-flat" not in built.never:
            built.position = "flat"
        if built.support not in ("board", "sling"):
            built.support = "board"
        built.forbid("sealed-plastic", "plastic-sleeve", "heat", "stacking")
        built.allow("wetting")
        built.notes.append("It is wet: the water pages say what to do in which order.")
    if built.position == "flat":
        built.allow("laying-flat")
    if built.interleaf == "polyester-sheet" and "plastic-sleeve" in built.never:
        built.interleaf = "none"
    if built.max_stack == 1:
        built.forbid("stacking")
    elif "stacking" in built.never:
        built.max_stack = 1
    if built.position in _OPEN_POSITIONS:
        built.max_pile_mm = None
    built.meanwhile = list(dict.fromkeys(built.meanwhile))
