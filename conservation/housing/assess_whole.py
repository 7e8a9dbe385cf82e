"""Boxes and lots as wholes, where boxes stand, what needs housing first, and how a thing is carried."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from archive.kinds import FAMILIES, KIND_CODES, kind
from archive.preferences.units import fahrenheit
from conservation.housing.assess import STOP_LEVELS, HousingAdvice, hands_words, made_of
from conservation.reasons import Reason, reason
from conservation.science.housing import (
    NO_ONE_CLIMATE,
    Input,
    carrying_route,
    handling_of,
    sensitivity_of,
    verdicts,
    work_out,
)
from conservation.science.sources import DATA
from conservation.science.words import codes, word


@dataclass(frozen=True)
class KindInBox:
    """One kind in a box described only as a whole."""

    name: str
    count: int
    put_in: str
    drawing: str
    position: str
    hazard: str
    stop: bool


@dataclass(frozen=True)
class WholeAdvice:
    """What holds for a box or lot as a whole, from what is in it."""

    rows: list[KindInBox]
    hazards: list[tuple[str, str]]  # words of the hazard, and the caution
    call: list[str]
    blocked: bool
    air: str
    apart: bool  # no one air suits all of it; ``air`` is that of the most sensitive
    families: list[str]
    mixed: str
    never: list[str]


def advise_whole(
    counts: Mapping[str, int], units: str, families_beside: Counter[str] | None = None
) -> WholeAdvice | None:
    """Return the advice for a box or lot from its kinds and their numbers; None when nothing is known of it.

    The air is that of the most demanding kind, by the same rule as for a thing with parts. ``families_beside`` counts
    the families that lie in one box; several of them are said to be better apart.
    """
    known = {code: count for code, count in counts.items() if count > 0 and code in KIND_CODES}
    if not known:
        return None
    answers = {code: work_out(Input.model_validate({"kind": code, "count": count})) for code, count in known.items()}
    first, *others = known
    together = work_out(Input.model_validate({"kind": first, "parts": others}))
    rows = [_kind_row(code, known[code], answer) for code, answer in answers.items()]
    rows.sort(key=lambda row: (not row.stop, -row.count))
    cautions: dict[str, str] = {}
    call: dict[str, None] = {}
    for answer in answers.values():
        for caution in answer["cautions"]:
            cautions.setdefault(word("hazard", caution["code"]), caution["say"])
        if answer["stop"] and answer["stop"]["level"] in STOP_LEVELS:
            call |= dict.fromkeys(word("call", code) for code in answer["stop"]["call"])
    here = families_beside if families_beside is not None else Counter()
    names = [family.name for family in FAMILIES if here[family.code]]
    never = dict.fromkeys(code for answer in answers.values() for code in answer["never"])
    common = [code for code in never if all(code in answer["never"] for answer in answers.values())]
    return WholeAdvice(
        rows=rows,
        hazards=list(cautions.items()),
        call=list(call),
        blocked=any(row.stop for row in rows),
        air=_air(together["climate"], units == "inch"),
        apart=any(note.startswith(NO_ONE_CLIMATE) for note in together["notes"]),
        families=names,
        mixed=mixed_words(here),
        never=[word("never", code) for code in common],
    )


def mixed_words(families: Counter[str]) -> str:
    """Return the sentence that a box holds several families, or nothing; what is not known yet counts for none."""
    names = [family.name.lower() for family in FAMILIES if families[family.code] and family.code != "unknown"]
    if len(names) < 2:
        return ""
    listed = f"{', '.join(names[:-1])} and {names[-1]}"
    return f"{listed[0].upper()}{listed[1:]} lie in one box. Different things want different air and boxes: part them."


def _kind_row(code: str, count: int, answer: dict[str, Any]) -> KindInBox:
    first = answer["enclosures"][0] if answer["enclosures"] else None
    put_in = "leave it where it is"
    if first is not None:
        form, material = word("form", first["form"]), word("material", first["material"])
        put_in = made_of(form, material)
    stop = answer["stop"]
    return KindInBox(
        name=kind(code).name,
        count=count,
        put_in=put_in,
        drawing=f"form-{first['form']}" if first else "never",
        position=_small(word("position", answer["position"])) if first else "",
        hazard=word("hazard", stop["hazard"]) if stop else "",
        stop=bool(stop) and stop["level"] in STOP_LEVELS,
    )


def _small(words: str) -> str:
    """Return words with which a sentence goes on."""
    return words[:1].lower() + words[1:]


def _air(climate: dict[str, Any], inch: bool) -> str:
    if climate["rh_best_pct"] is None:
        return ""
    low, high = climate["rh_best_pct"]
    best = climate["temperature_best_c"]
    warm = "cool"
    if best:
        warm = (
            f"{fahrenheit(best[0]):.0f} to {fahrenheit(best[1]):.0f} °F" if inch else f"{best[0]:g} to {best[1]:g} °C"
        )
    return f"{warm}, {low:g} to {high:g} % humidity".replace("-", "−")


@dataclass(frozen=True)
class PlaceVerdict:
    """What is to be said of the furniture or the part of the house in which a box stands."""

    label: str
    name: str
    verdict: str
    reason: Reason
    instead: str


def judge_place(furniture: str, location: str) -> list[PlaceVerdict]:
    """Return the verdicts on where a box stands; nothing for what nobody has said."""
    found = []
    for which, label, code in (("furniture", "Furniture", furniture), ("location", "Place", location)):
        if not code:
            continue
        row = verdicts()[which][code]
        good = {"good": "good", "fair": "will do", "poor": "better not"}.get(
            row.verdict, "only for what needs the cold"
        )
        found.append(PlaceVerdict(label, word(which, code), good, reason(row.why, row.citation), row.instead))
    return found


def place_choices(which: str) -> list[tuple[str, str]]:
    """Return the codes and words of ``furniture`` or ``location`` for a form."""
    return [("", "not said"), *((code, word(which, code)) for code in codes(which))]


def enclosure_choices() -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """Return the codes and words of forms and materials for a form of the keeper's decision."""
    forms = [(code, word("form", code)) for code in codes("form") if code != "none"]
    materials = [("", "not said"), *((code, word("material", code)) for code in codes("material") if code != "none")]
    return forms, materials


@cache
def _needs() -> dict[str, Any]:
    with (DATA / "needs.toml").open("rb") as file:
        return tomllib.load(file)


@cache
def vulnerability() -> dict[float, tuple[str, ...]]:
    """Return the kinds by their vulnerability, 1 to 3 in steps of a twelfth of two; our default."""
    found: dict[float, list[str]] = {}
    for code in sorted(KIND_CODES):
        value = round(1 + 2 * sum(sensitivity_of(code)) / 12, 3)
        found.setdefault(value, []).append(code)
    return {value: tuple(kinds) for value, kinds in found.items()}


def need_figures() -> dict[str, float]:
    """Return the factors of the order in which things are housed (``needs.toml``)."""
    table = _needs()
    return {
        "unknown": float(table["other"]["significance_unknown"]),
        "damaged": float(table["other"]["damaged"]),
        "nothing": float(table["present"]["nothing-decided"]),
        "decided": float(table["present"]["decided-not-done"]),
    }


def need_in_words(thing: Any) -> str:
    """Return why a thing stands where it does in the order; ``thing`` comes from `queries.ranked_needs`."""
    value = next(number for number, kinds in vulnerability().items() if thing.kind_code in kinds)
    matters = f"it matters {thing.significance} of 5" if thing.significance else "how much it matters is not said"
    delicate = "very delicate" if value >= 2.3 else "delicate" if value >= 1.7 else "fairly robust"
    parts = [matters, f"{thing.kind.name.lower()} is {delicate}"]
    if thing.states:
        parts.append("it has damage")
    parts.append("decided, not done" if thing.is_decided else "nothing is decided yet")
    return "; ".join(parts)


@dataclass(frozen=True)
class Carrying:
    """A handling card: how to carry one thing."""

    gloves: str
    people: int
    support: str
    strongest: str
    weakest: str
    lift: str
    route: tuple[str, ...]
    reasons: tuple[Reason, ...]


# Supports that come along when a thing is carried; the others belong into its box.
_CARRIES = frozenset({"folder", "board", "sink-mat", "cradle", "inner-form", "sling"})


def carry(thing: Any, advice: HousingAdvice) -> Carrying:
    """Return how a thing is carried: hands, people, support, strong and weak points, and the way."""
    row = handling_of(thing.kind_code)
    route, source = carrying_route()
    answer = advice.answer
    support = word("support", answer["support"]) if answer["support"] in _CARRIES else ""
    weak = [row.weakest]
    if thing.states:
        weak.append(f"Noted: {', '.join(state.name.lower() for state in thing.state_rows)}. Keep off those places.")
    weak += [f"{part.name}: {handling_of(part.code).weakest}" for part in thing.part_rows]
    return Carrying(
        gloves=hands_words(answer["gloves"]),
        people=answer["people"],
        support=support,
        strongest=row.strongest,
        weakest=" ".join(weak),
        lift=row.lift,
        route=route,
        reasons=(reason("Strong and weak points", row.citation), reason("The way", source)),
    )
