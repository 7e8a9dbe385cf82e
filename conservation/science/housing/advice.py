"""Putting the answer together: stop, cautions, housing, climate, refusals, disagreements and sources."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from archive.kinds import kind
from conservation.science.housing import climate, proposed, rules
from conservation.science.housing.problem import Input
from conservation.science.housing.rules import Housing
from conservation.science.housing.situation import LARGE_GLASS_MM, LEVELS, Situation, look_at, people
from conservation.science.housing.tables import care, disagreements, hazards
from conservation.science.sources import Citation, cited

_NITRATE_FIRST = "fire-service"


@dataclass(frozen=True)
class Explanation:
    """Why one piece of advice is given."""

    field: str
    code: str
    reason: str
    citation: Citation


@dataclass
class _Whole:
    situation: Situation
    built: Housing
    limits: climate.Limits
    home_ok: bool
    citations: list[Citation]
    notes: list[str]


def _whole(problem: Input) -> _Whole:
    situation = look_at(problem)
    built = rules.house(situation)
    notes = list(built.notes)
    row = situation.main.row
    citations = [row.citation(cell) for cell in ("buffering", "position", "gloves")]
    citations += [row.citation("enclosures", form) for form, _ in row.enclosures]
    citations += [row.citation("never", code) for code in row.never]
    if situation.stop_level == "leave-and-call":
        return _Whole(
            situation, built, climate.NO_LIMITS, False, [], ["Ordinary advice waits until the hazard is gone."]
        )
    limits, failed = climate.together(
        [(part.kind, climate.limits_of(part.climate, part.row.code)) for part in situation.parts]
    )
    notes += failed
    home_ok = limits.lives_cold and not situation.states & climate.NOT_AT_HOME
    citations += limits.citations
    for part in situation.parts:
        if part.nearest:
            name = kind(part.kind).name
            notes.append(f"Our tables have no line for “{name}”; the nearest kind stands in, by our own judgement.")
    if situation.stop_level == "isolate-first":
        notes.append("The enclosures named are for keeping it apart until the hazard is dealt with.")
    if problem.strip_level is not None and not situation.may_be_acetate:
        notes.append("The strip level says nothing about this kind of thing.")
    if problem.base is not None and not situation.base:
        notes.append("The film base says nothing about this kind of thing.")
    if any(built_enclosure["inner_mm"] is None for built_enclosure in built.enclosures) and not (
        problem.width_mm and problem.height_mm and problem.depth_mm
    ):
        notes.append("Inner sizes need width, height and depth of one piece.")
    return _Whole(situation, built, limits, home_ok, citations, notes)


def work_out(problem: Input) -> dict[str, Any]:
    """Return the advice on housing one thing.

    Sizes in mm, weights in g, temperatures in °C, humidity in % RH. Sources: the answer's own list.
    """
    whole = _whole(problem)
    situation, built, limits = whole.situation, whole.built, whole.limits
    refused = proposed.check(situation, built, limits)
    verdict, reasons = climate.judge(limits, problem.room, whole.home_ok)
    citations = [*whole.citations, *(each.citation for each in refused)]
    citations += [hazards()[code].citation for code in situation.hazards]
    topics, topic_citations = _disagreements(situation, built)
    return {
        "stop": _stop(situation),
        "prepare": built.prepare,
        "meanwhile": built.meanwhile,
        "enclosures": built.enclosures,
        "support": built.support,
        "interleaf": built.interleaf,
        "position": built.position,
        "max_stack": built.max_stack,
        "max_pile_mm": built.max_pile_mm,
        "fill": built.fill,
        "never": built.never,
        "gloves": built.gloves,
        "people": people(situation),
        "climate": {
            "code": limits.code,
            "temperature_min_c": limits.temperature_min_c,
            "temperature_best_c": _pair(limits.temperature_best_c),
            "temperature_max_c": limits.temperature_max_c,
            "rh_min_pct": limits.rh_min_pct,
            "rh_best_pct": _pair(limits.rh_best_pct),
            "rh_max_pct": limits.rh_max_pct,
            "home_ok": whole.home_ok,
        },
        "room_verdict": verdict,
        "room_reasons": reasons,
        "tube": built.tube,
        "refused": [{"what": each.what, "why": each.why, "instead": each.instead} for each in refused],
        "actions": built.actions,
        "cautions": [{"code": code, "say": hazards()[code].say} for code in by_level(situation)],
        "disagreements": topics,
        "sources": cited([*citations, *topic_citations]),
        "notes": whole.notes,
    }


def _pair(value: climate.Range | None) -> list[float] | None:
    return None if value is None else list(value)


def by_level(situation: Situation) -> list[str]:
    """Return the hazards of a thing, the most serious first; equals in the order they came up."""
    return sorted(situation.hazards, key=lambda code: -LEVELS.index(situation.hazards[code]))


def _stop(situation: Situation) -> dict[str, Any] | None:
    if not situation.hazards:
        return None
    code = by_level(situation)[0]
    call = list(hazards()[code].call)
    return {"level": situation.hazards[code], "hazard": code, "say": hazards()[code].say, "call": call}


def _disagreements(situation: Situation, built: Housing) -> tuple[list[dict[str, Any]], list[Citation]]:
    about = {f"kind:{part.kind}" for part in situation.parts}
    about |= {f"family:{kind(part.kind).family}" for part in situation.parts}
    about |= {f"row:{part.row.code}" for part in situation.parts}
    about |= {f"handling:{care()[part.kind].handling}" for part in situation.parts}
    about |= {f"state:{state}" for state in situation.states} | {f"hazard:{code}" for code in situation.hazards}
    about.add(f"buffering:{built.buffering}")
    if max(situation.problem.width_mm or 0, situation.problem.height_mm or 0) > LARGE_GLASS_MM:
        about.add("large-glass")
    if situation.may_be_acetate:
        about.add("acetate")
    plan = situation.problem.proposed
    if plan is not None:
        about |= {f"furniture:{plan.furniture}", f"location:{plan.location}"}
        if plan.ph is not None:
            about.add("ph")
    if situation.stop_level == "leave-and-call":
        return [], []
    topics, citations = [], []
    for each in disagreements():
        if any(about >= set(entry.split("+")) for entry in each["when"]):
            positions = [{"say": say, "source": source} for say, source in each["positions"]]
            topics.append({"topic": each["topic"], "positions": positions, "used": each["used"]})
            citations += [Citation(source, each["topic"], "second-hand") for _, source in each["positions"]]
    return topics, citations


def explain(problem: Input) -> list[Explanation]:
    """Return why each main piece of advice is given, for pages that show it beside the advice."""
    whole = _whole(problem)
    situation, built = whole.situation, whole.built
    row = situation.main.row
    found: list[Explanation] = []
    for each in built.enclosures:
        form = str(each["form"])
        found.append(Explanation("enclosures", form, str(each["why"]), row.citation("enclosures", form)))
    name = kind(situation.problem.kind).name
    because = f"So it is for “{name}”."
    own = set(row.never)
    for code in built.never:
        if code in own:
            found.append(Explanation("never", code, because, row.citation("never", code)))
        else:
            reason = "Its condition, a part of another material, or a hazard asks for it."
            found.append(Explanation("never", code, reason, Citation("trade", "condition rules", "common practice")))
    for cell, code in (
        ("buffering", built.buffering), ("position", built.position), ("support", built.support),
        ("interleaf", built.interleaf), ("fill", built.fill), ("gloves", built.gloves[0] if built.gloves else ""),
    ):  # fmt: skip
        if not code:
            continue
        changed = code != getattr(row, cell) and not (cell == "gloves" and code == row.gloves[0])
        reason = "Its condition or a part of another material changes what is usual." if changed else because
        citation = Citation("trade", "condition rules", "common practice") if changed else row.citation(cell)
        found.append(Explanation(cell, code, reason, citation))
    for code in by_level(situation):
        found.append(Explanation("cautions", code, hazards()[code].say, hazards()[code].citation))
    for citation in whole.limits.citations:
        found.append(Explanation("climate", whole.limits.code or "", "Limits for what it is made of.", citation))
    return found
