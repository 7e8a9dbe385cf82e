"""The closed lists of the `housing` sum: no other code is ever answered, and other codes are refused as input."""

from __future__ import annotations

FORMS = (
    "four-flap", "sleeve", "paper-envelope", "folder", "flat-box", "document-box", "drop-spine-box", "textile-box",
    "padded-box", "vented-box", "vented-can", "slotted-box", "sink-mat", "window-mat", "tube-outside",
    "padded-hanger", "cotton-cover", "bag", "polyester-jacket", "jewel-case", "frame", "shelf", "own-case",
    "open-tray", "none",
)  # fmt: skip
MATERIALS = (
    "polyester", "polypropylene", "polyethylene", "paper-or-board", "tissue", "cotton", "foam-polyethylene",
    "silica-gel-box", "glass-or-steel", "none",
)  # fmt: skip
BUFFERINGS = ("buffered", "unbuffered", "either", "not-applicable")
POSITIONS = ("flat", "upright", "upright-long-edge", "rolled", "folded-padded", "hung", "as-used")
SUPPORTS = (
    "none", "folder", "board", "sink-mat", "cradle", "inner-form", "padding-rolls", "sling", "end-cradles",
    "dividers", "core", "full-shelf",
)  # fmt: skip
INTERLEAFS = (
    "none", "unbuffered-paper", "buffered-paper", "unbuffered-tissue", "buffered-tissue", "board", "polyester-sheet",
)  # fmt: skip
FILLS = ("snug", "part-filled", "single-layer", "not-filled")
LEVELS = ("leave-and-call", "isolate-first", "take-care")  # the most serious first
HAZARDS = (
    "nitrate", "mould", "pest", "arsenic", "lead", "mercury", "radium", "asbestos", "ammunition", "firearm",
    "pressurised-or-toxic-glass", "chemical", "medicine", "pesticide", "battery", "sharp", "acid-fumes", "heavy",
    "fragile-surface", "human-remains", "protected-species",
)  # fmt: skip
CALLS = (
    "emergency-services", "fire-service", "police", "bomb-disposal", "hazardous-waste", "poison-centre", "doctor",
    "licensed-contractor", "pest-professional", "radiation-authority", "pharmacist", "film-archive", "conservator",
    "environmental-health", "local-law",
)  # fmt: skip
GLOVES = ("nitrile", "cotton-lint-free", "bare-clean", "cut-resistant", "none-needed")
NEVER = (
    "plastic-sleeve", "sealed-plastic", "pvc", "rolling", "folding", "lamination", "freezing", "wetting",
    "buffered-contact", "acidic-paper", "wood", "wool-felt", "rubber", "hanging", "stacking", "laying-flat",
    "cotton-gloves", "bare-hands", "light", "heat", "adhesive-tape", "metal-clips", "projecting", "opening",
    "cleaning", "polishing", "moving", "dressing-or-oil", "handles", "mothballs-or-sprays", "wearing",
    "playing-or-powering", "forcing-flat", "taking-apart", "writing-on", "food-freezer", "magnets", "trimming",
    "burn-or-float-test",
)  # fmt: skip
ACTIONS = (
    "move-room", "raise-off-floor", "quarantine", "isolate", "pest-freeze", "test-base", "strip-test", "cold-store",
    "frozen-store", "copy", "monitor", "photograph-first", "remove-battery", "legal-check", "call-official",
    "ask-conservator",
)  # fmt: skip
PREPARE = (
    "photograph-as-found", "keep-wrapper", "note-order", "remove-loose-fasteners", "leave-taped",
    "unfold-if-willing", "leave-rolled", "dust-soft-brush", "no-dusting", "leave-in-frame", "leave-in-case",
)  # fmt: skip
MEANWHILE = (
    "off-the-floor", "out-of-loft-or-cellar", "away-from-outside-wall", "plain-white-paper", "washed-cotton-sheet",
    "separate-newsprint", "separate-smelly-film", "out-of-light", "apart-in-open-air",
)  # fmt: skip
FURNITURE = (
    "powder-coated-steel", "enamelled-steel", "aluminium", "chrome-wire", "oak", "hardwood", "softwood", "plywood",
    "mdf-or-chipboard", "melamine-wardrobe", "painted-wood-acrylic", "painted-wood-oil", "cardboard-carton",
    "plastic-tub", "cedar-chest", "suitcase-or-trunk", "under-bed-drawer", "biscuit-tin", "shoe-carton",
)  # fmt: skip
ENCLOSURES = (
    "polyester-sleeve", "polypropylene-sleeve", "pvc-sleeve", "pvc-flip", "glassine", "buffered-folder",
    "unbuffered-folder", "acidic-envelope", "self-stick-page", "wire-hanger", "padded-hanger", "buffered-tissue",
    "unbuffered-tissue", "newspaper", "tube-inside", "vacuum-bag", "dry-cleaner-bag", "bin-bag", "bubble-wrap",
    "freezer-bag", "laminate", "adhesive-tape", "clip-or-rubber-band",
)  # fmt: skip
LOCATIONS = (
    "loft", "cellar", "garage", "shed", "bathroom", "kitchen", "laundry", "outside-wall", "under-pipes", "near-heat",
    "in-sun", "floor", "inner-cupboard", "bedroom", "refrigerator", "freezer", "self-storage",
)  # fmt: skip
CLIMATES = tuple(f"C{number}" for number in range(1, 15))
VERDICTS = ("suits", "watch", "unsuitable", "unmeasured")  # the best first
USES = ("rare", "monthly", "weekly")
BASES = ("nitrate", "acetate", "polyester")

# Group in data/words/en.toml → its closed list.
WORD_GROUPS: dict[str, tuple[str, ...]] = {
    "form": FORMS,
    "material": MATERIALS,
    "buffering": BUFFERINGS,
    "position": POSITIONS,
    "support": SUPPORTS,
    "interleaf": INTERLEAFS,
    "fill": FILLS,
    "level": LEVELS,
    "hazard": HAZARDS,
    "call": CALLS,
    "gloves": GLOVES,
    "never": NEVER,
    "actions": ACTIONS,
    "prepare": PREPARE,
    "meanwhile": MEANWHILE,
    "furniture": FURNITURE,
    "enclosure": ENCLOSURES,
    "location": LOCATIONS,
    "climate": CLIMATES,
    "verdict": VERDICTS,
    "use": USES,
    "base": BASES,
}
