"""Things → problems of the `housing` sum → advice in words for pages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from archive.extend import Flag
from archive.preferences.units import MM_PER_INCH, fahrenheit
from archive.things.models import Thing
from conservation.housing.queries import AirThere
from conservation.reasons import Reason, reason
from conservation.science.housing import Explanation, Input, explain, flags, verdicts, work_out
from conservation.science.sources import register
from conservation.science.words import word
from conservation.where import Where

STOP_LEVELS = ("leave-and-call", "isolate-first")
# What must not become dust in the room, and what a brush would spoil.
_NO_BRUSH_HAZARDS = frozenset({"arsenic", "asbestos", "lead", "mercury", "mould", "pest", "pesticide", "radium"})
_NO_BRUSH_STATES = frozenset({"mould-dormant", "tacky", "weeping"})
_NO_BRUSH_KINDS = frozenset({"pastel-or-charcoal", "crayon-or-hand-coloured-portrait"})


@dataclass(frozen=True)
class Line:
    """One line of advice: what to do, in words, its drawing, and why."""

    label: str
    words: str
    drawing: str
    reasons: tuple[Reason, ...]
    style: str = ""


@dataclass(frozen=True)
class Scale:
    """Best and hard limits of one measure, placed on a line of 300 units for drawing."""

    label: str
    unit: str
    low: str
    high: str
    x_low: float
    x_width: float
    limits: str
    mark: float | None = None
    x_mark: float = 0.0


@dataclass(frozen=True)
class HousingAdvice:
    """What Kistbook computes about housing one thing; nothing of it is stored."""

    answer: dict[str, Any]
    lines: list[Line]
    prepare: list[str]
    meanwhile: list[str]
    actions: list[str]
    scales: list[Scale]
    stop_words: str
    hazard_words: str
    call: list[str]
    other_cautions: list[tuple[str, str]]
    caution_reasons: tuple[Reason, ...]
    climate_reasons: tuple[Reason, ...]
    disagreements: list[dict[str, Any]]
    air_words: str  # of the room where it lies; empty where nobody measures it
    verdict: str  # suits, watch, unsuitable, unmeasured
    verdict_words: str
    verdict_reasons: list[str]
    blocked: bool  # a hazard of the first two levels comes before ordinary advice
    leave: bool


def problem_of(thing: Any, air: AirThere | None = None) -> Input:
    """Return a thing as the `housing` sum reads it, with the air it lies in where that is known."""
    made = None
    if thing.made_earliest or thing.made_latest:
        made = {"earliest": thing.made_earliest or None, "latest": thing.made_latest or None}
    return Input.model_validate(
        {
            "kind": thing.kind_code,
            "states": list(thing.states),
            "parts": list(thing.parts),
            "made": made,
            "base": thing.film_base or None,
            "width_mm": thing.width_mm,
            "height_mm": thing.height_mm,
            "depth_mm": thing.depth_mm,
            "weight_g": thing.weight_g,
            "count": thing.count,
            "use": thing.use,
            "strip_level": _strip(thing.strip_level),
            "room": None
            if air is None
            else {
                "temperature_c": air.temperature_c,
                "relative_humidity_pct": air.relative_humidity_pct,
            },
        }
    )


def _strip(level: str) -> int | float | None:
    return {"": None, "0": 0, "1": 1, "1.5": 1.5, "2": 2, "3": 3}[level]


def advise(thing: Any, units: str, air: AirThere | None = None) -> HousingAdvice:
    """Return the housing advice for a thing, in words and in the keeper's units (``metric`` or ``inch``).

    ``air`` is that of the room where it lies; without it the advice is for a room that nobody has measured.
    """
    problem = problem_of(thing, air)
    answer = work_out(problem)
    reasons = explain(problem)
    inch = units == "inch"
    stop = answer["stop"]
    level = stop["level"] if stop else ""
    return HousingAdvice(
        answer=answer,
        lines=_lines(answer, reasons, inch) if level != "leave-and-call" else [],
        prepare=[word("prepare", code) for code in _prepare(answer, thing)],
        meanwhile=[word("meanwhile", code) for code in answer["meanwhile"]],
        actions=[word("actions", code) for code in answer["actions"]],
        scales=_scales(answer["climate"], inch),
        stop_words=word("level", level) if stop else "",
        hazard_words=word("hazard", stop["hazard"]) if stop else "",
        call=[word("call", code) for code in stop["call"]] if stop else [],
        other_cautions=[
            (word("hazard", each["code"]), each["say"])
            for each in answer["cautions"]
            if not stop or each["code"] != stop["hazard"]
        ],
        caution_reasons=_reasons(each for each in reasons if each.field == "cautions"),
        climate_reasons=_reasons(each for each in reasons if each.field == "climate"),
        disagreements=[_with_named_sources(each) for each in answer["disagreements"]],
        air_words=_air_words(air, inch) if air is not None else "",
        verdict=answer["room_verdict"],
        verdict_words=word("verdict", answer["room_verdict"]),
        verdict_reasons=list(answer["room_reasons"]),
        blocked=level in STOP_LEVELS,
        leave=level == "leave-and-call",
    )


def _lines(answer: dict[str, Any], reasons: list[Explanation], inch: bool) -> list[Line]:
    why = {(each.field, each.code): each for each in reasons}
    lines = [
        _line(
            why,
            "enclosures",
            each["form"],
            "Put it in" if i == 0 else "or in",
            _enclosure_words(each, inch, folded=answer["position"] == "folded-padded"),
            f"form-{each['form']}",
        )
        for i, each in enumerate(answer["enclosures"])
    ]
    position = word("position", answer["position"])
    if answer["support"] != "none":
        position += f"; {word('support', answer['support'])}"
    if answer["interleaf"] != "none":
        position += f"; {word('interleaf', answer['interleaf'])}"
    if answer["max_stack"]:
        together = "in one folder" if answer["position"].startswith("upright") else "in a pile"
        position += (
            "; nothing on top of it" if answer["max_stack"] == 1 else f"; at most {answer['max_stack']} {together}"
        )
    lines.append(_line(why, "position", answer["position"], "Position", position, f"position-{answer['position']}"))
    lines.append(
        _line(why, "fill", answer["fill"], "In the box", word("fill", answer["fill"]), f"fill-{answer['fill']}")
    )
    if answer["gloves"]:
        people = " Two people lift it." if answer["people"] == 2 else ""
        hands = hands_words(answer["gloves"])
        lines.append(
            _line(
                why, "gloves", answer["gloves"][0], "Hold it with", f"{hands}.{people}", f"gloves-{answer['gloves'][0]}"
            )
        )
    if answer["never"]:
        never = ", ".join(word("never", code) for code in answer["never"])
        because = _reasons(each for each in reasons if each.field == "never")
        lines.append(Line("Never", never, "never", because, "never"))
    return lines


def hands_words(gloves: list[str]) -> str:
    """Return the first two ways to hold a thing: “nitrile gloves or lint-free cotton gloves”."""
    if gloves[:2] == ["bare-clean", "none-needed"]:
        return f"{word('gloves', 'bare-clean')}; {word('gloves', 'none-needed')}"
    return " or ".join(word("gloves", code) for code in gloves[:2])


def made_of(form: str, material: str) -> str:
    """Return the words for an enclosure and what it is made of: “a can with air holes, of polypropylene”."""
    if not material:
        return form
    return f"{form}, of {material}" if " with " in form or "," in form else f"{form} of {material}"


def _prepare(answer: dict[str, Any], thing: Any) -> list[str]:
    """Return what comes before the box; no brush where it would spoil the surface or raise what is poisonous.

    The sum names the brush by condition alone; a page does not say "brush" beside a caution that says not to.
    """
    waits = (
        "ask-conservator" in answer["actions"]
        or (answer["stop"] and answer["stop"]["level"] in STOP_LEVELS)
        or _NO_BRUSH_STATES & set(thing.states)
        or _NO_BRUSH_HAZARDS & {each["code"] for each in answer["cautions"]}
        or _NO_BRUSH_KINDS & {thing.kind_code, *thing.parts}
    )
    return ["no-dusting" if waits and code == "dust-soft-brush" else code for code in answer["prepare"]]


def _enclosure_words(enclosure: dict[str, Any], inch: bool, folded: bool = False) -> str:
    form, material = word("form", enclosure["form"]), word("material", enclosure["material"])
    words = made_of(form, material)
    buffering = word("buffering", enclosure["buffering"])
    if buffering:
        words += f", {buffering}"
    # Folded a thing is smaller than it lies; by how much only the keeper can see.
    if enclosure["inner_mm"] and not folded:
        sides = [f"{side / MM_PER_INCH:.1f}" if inch else f"{side:.0f}" for side in enclosure["inner_mm"]]
        words += f"; inside {' × '.join(sides)} {'in' if inch else 'mm'}"
    return words


def _line(
    why: Mapping[tuple[str, str], Explanation], field: str, code: str, label: str, words: str, drawing: str
) -> Line:
    found = why.get((field, code))
    if found is None:
        return Line(label, words, drawing, (Reason("Follows from the rest of the advice.", "Kistbook", "our default"),))
    return Line(label, words, drawing, _reasons([found]))


def _reasons(found: Iterable[Explanation]) -> tuple[Reason, ...]:
    """Return reasons in words, each once."""
    reasons = [reason(each.reason, each.citation) for each in found]
    return tuple(dict.fromkeys(reasons))


def _with_named_sources(topic: dict[str, Any]) -> dict[str, Any]:
    positions = [{"say": each["say"], "source": register()[each["source"]].named} for each in topic["positions"]]
    return {**topic, "positions": positions}


_RANGES = {"temperature": ("Temperature", "°C", -20.0, 40.0), "rh": ("Humidity", "%", 0.0, 100.0)}


def _in_unit(value: float, name: str, inch: bool) -> float:
    """Return a temperature in °F where the keeper measures so; humidity stays as it is."""
    return round(fahrenheit(value)) if inch and name == "temperature" else value


def _figure(value: float, name: str, inch: bool) -> str:
    """Return a limit of the air as it is printed, with a true minus."""
    return f"{_in_unit(value, name, inch):.0f}".replace("-", "−")


def _air_words(air: AirThere, inch: bool) -> str:
    warm = [_figure(each, "temperature", inch) for each in air.temperature_c]
    damp = [f"{each:.0f}" for each in air.relative_humidity_pct]
    return f"{warm[0]} to {warm[1]} {'°F' if inch else '°C'} and {damp[0]} to {damp[1]} %"


def _scales(climate: dict[str, Any], inch: bool) -> list[Scale]:
    scales = []
    for name, (label, unit, start, end) in _RANGES.items():
        suffix = "c" if name == "temperature" else "pct"
        best = climate[f"{name}_best_{suffix}"]
        if best is None:
            continue
        low, high = climate[f"{name}_min_{suffix}"], climate[f"{name}_max_{suffix}"]
        shown = "°F" if inch and name == "temperature" else unit
        x_low = (best[0] - start) / (end - start) * 300
        limits = " and ".join(
            part
            for part in (
                f"not below {_figure(low, name, inch)} {shown}" if low is not None else "",
                f"not above {_figure(high, name, inch)} {shown}" if high is not None else "",
            )
            if part
        )
        scales.append(
            Scale(
                label,
                shown,
                _figure(best[0], name, inch),
                _figure(best[1], name, inch),
                round(x_low, 1),
                round((best[1] - best[0]) / (end - start) * 300, 1),
                limits,
            )
        )
    return scales


def flags_of(things: Iterable[Thing], places: Mapping[int, Where]) -> dict[int, list[Flag]]:
    """Return the marks of many things: hazards, and a place in the house that suits nothing; by the thing's key."""
    found: dict[int, list[Flag]] = {}
    for thing in things:
        level, hazards = flags(
            thing.kind_code, tuple(thing.states), tuple(thing.parts), thing.made_earliest or None,
            thing.film_base or None, thing.weight_g,
        )  # fmt: skip
        marks = []
        if level is not None:
            names = ", ".join(word("hazard", code) for code in hazards)
            marks.append(Flag("stop" if level in STOP_LEVELS else "care", names))
        if (here := places.get(thing.box_id or 0)) is not None:
            marks += [Flag("care", f"Stands badly: {name}") for name in _poor(here)]
        if marks:
            found[thing.pk] = marks
    return found


def _poor(here: Where) -> list[str]:
    """Return in words what of furniture and location suits nothing."""
    tables = verdicts()
    return [
        word(which, code)
        for which, code in (("furniture", here.furniture), ("location", here.location))
        if code and tables[which][code].verdict == "poor"
    ]
