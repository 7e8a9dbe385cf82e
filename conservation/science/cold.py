"""What may live in a refrigerator or freezer kept for film and colour, how long a package warms, what holds meanwhile.

Everything follows the housing sum: what housing forbids is never allowed here, and what housing sends to the cold is
never called unfit; at most something else comes first.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Any, Literal, get_args

from conservation.science.housing import climate
from conservation.science.housing.problem import Input
from conservation.science.housing.rules import house
from conservation.science.housing.situation import Situation, look_at
from conservation.science.sources import DATA, Citation

ColdVerdict = Literal["either", "freezer", "refrigerator", "not-yet", "ask-first", "no-need", "never"]
VERDICTS: tuple[ColdVerdict, ...] = get_args(ColdVerdict)  # from the most welcome to the least
MAY_GO_IN: tuple[ColdVerdict, ...] = ("either", "freezer", "refrigerator")
Appliance = Literal["refrigerator", "freezer"]
APPLIANCES: tuple[Appliance, ...] = get_args(Appliance)
Package = Literal["one-or-two", "packet", "box"]
PACKAGES: tuple[Package, ...] = get_args(Package)
_COLD_C = 5.0  # a kind whose best temperature ends here or lower belongs in the cold
_NITRATE = Citation("KOD", "nitrate: apart, cool, never into a household appliance without advice", "confirmed")
_HAZARD = Citation("kistbook", "hazards come before the cold", "our default")
_STRIP = Citation("IPI-VS", "levels of the acid-sensing strip", "confirmed")
_COLOUR = Citation("LOC-PH", "colour photographs, cold", "confirmed")
_NO_NEED = Citation("kistbook", "a cold place is for film and colour only", "our default")


@dataclass(frozen=True)
class Reason:
    """One reason, in a sentence, with where it comes from."""

    say: str
    citation: Citation


@dataclass(frozen=True)
class Answer:
    """Whether a thing may live in the cold, why, and what comes first or instead."""

    verdict: ColdVerdict
    reasons: tuple[Reason, ...]
    instead: str = ""

    @property
    def may(self) -> bool:
        return self.verdict in MAY_GO_IN

    def fits(self, appliance: str) -> bool:
        """Say whether this kind of appliance may take it: what needs the freezer may wait in a refrigerator."""
        return self.may and (self.verdict != "refrigerator" or appliance == "refrigerator")


@dataclass(frozen=True)
class WarmUp:
    """How long a package stays shut after it was taken out: both published times, and the one that is used [h]."""

    package: Package
    first_h: tuple[float, float]
    second_h: tuple[float, float]
    used_h: float
    first: Reason
    second: Reason


@dataclass(frozen=True)
class Judged:
    """What is to be said of a cold place itself: whether it is ready to take things, and why or why not."""

    ready: bool
    against: tuple[Reason, ...]
    notes: tuple[Reason, ...]


@cache
def table() -> dict[str, Any]:
    """Return ``data/cold.toml``."""
    with (DATA / "cold.toml").open("rb") as file:
        return tomllib.load(file)


def reason_of(row: dict[str, Any]) -> Reason:
    """Return the sentence of a row and where it comes from."""
    return Reason(row["say"], Citation(row["source"], row["locator"], row["status"]))


def may_live_cold(problem: Input) -> Answer:
    """Return whether a thing may go into a refrigerator or freezer kept for film and colour.

    Parameters
    ----------
    problem : a thing as the housing sum reads it

    Returns
    -------
    Answer
        ``either``, ``freezer`` (a refrigerator is only for waiting), ``refrigerator`` (never frozen), ``not-yet``,
        ``ask-first``, ``no-need`` or ``never``

    Notes
    -----
    Hazards come first, then kinds, then states, then what the housing sum says of cold and frozen stores.
    """
    situation = look_at(problem)
    built = house(situation)
    if before := _hazard_or_kind(situation):
        return before
    sent = "frozen-store" if "frozen-store" in built.actions else "cold-store" if "cold-store" in built.actions else ""
    if not sent and not _lives_cold(situation):
        return Answer("no-need", (Reason("A cool, dry room does for it what the cold would do.", _NO_NEED),))
    waits = [reason_of(row) for row in table()["not_yet"].values() if row["state"] in situation.states]
    if situation.stop_level == "isolate-first" and not waits:
        waits = [Reason("It is kept apart until the hazard on its page is dealt with.", _HAZARD)]
    if waits:
        return Answer("not-yet", tuple(waits))
    reasons = (_because(sent, situation),)
    if "freezing" in built.never:
        not_frozen = Reason("It is not frozen.", situation.main.row.citation("never", "freezing"))
        return Answer("refrigerator", (*reasons, not_frozen))
    return Answer("freezer" if sent == "frozen-store" else "either", reasons)


def _hazard_or_kind(situation: Situation) -> Answer | None:
    if situation.hazards.get("nitrate") in ("isolate-first", "leave-and-call"):
        say = "It is nitrate film, or may be: it burns fiercely and cannot be put out. No household appliance for it."
        instead = "Ask the fire service and a film archive, and keep it apart, aired and cool until they answer."
        return Answer("ask-first", (Reason(say, _NITRATE),), instead)
    if situation.stop_level == "leave-and-call":
        say = "It must not be touched or moved."
        return Answer("ask-first", (Reason(say, _HAZARD),), "First call the people named on its page.")
    kinds = {part.kind for part in situation.parts}
    for group in table()["kinds"].values():
        if kinds & set(group["kinds"]):
            return Answer(group["verdict"], (reason_of(group),), group["instead"])
    return None


def _lives_cold(situation: Situation) -> bool:
    """Say whether the air that is best for a thing and its parts is that of a cold place."""
    together, _ = climate.together(
        [(part.kind, climate.limits_of(part.climate, part.row.code)) for part in situation.parts]
    )
    best = together.temperature_best_c
    return best is not None and best[1] <= _COLD_C


def _because(sent: str, situation: Situation) -> Reason:
    if situation.may_be_acetate:
        strip = situation.problem.strip_level
        if sent == "frozen-store":
            return Reason("The acid strip shows that the film is breaking down: only frost nearly stops it.", _STRIP)
        if strip is None:
            return Reason("Cold slows the decay of acetate film. An acid strip tells how cold it must be.", _STRIP)
        return Reason("The acid strip shows little acid: the cold keeps it so.", _STRIP)
    return Reason("Its colours fade in the dark too; the cold is the only brake on that.", _COLOUR)


# -- the place ---------------------------------------------------------------------------------------------------


def judge_place(appliance: Appliance, frost_free: bool | None, no_food: bool, temperature_c: float | None) -> Judged:
    """Return whether a refrigerator or freezer is ready to take things.

    Parameters
    ----------
    appliance : which of the two
    frost_free : whether it keeps itself free of frost; None is not known
    no_food : whether the keeper said that no food is kept in it
    temperature_c : measured inside [°C], None where nobody measured

    Returns
    -------
    Judged
    """
    against: list[Reason] = []
    notes: list[Reason] = []
    rules, bounds = table()["place"], table()["range"][appliance]
    if not no_food:
        against.append(reason_of(rules["food"]))
    if frost_free is False:
        against.append(reason_of(rules["frost"]))
    elif frost_free is None:
        against.append(reason_of(rules["frost-unknown"]))
    if temperature_c is None:
        against.append(reason_of(rules["unmeasured"]))
    elif not bounds["low_c"] <= temperature_c <= bounds["high_c"]:
        against.append(reason_of(bounds))
    elif temperature_c > bounds["best_high_c"]:
        notes.append(reason_of(bounds))
    return Judged(not against, tuple(against), tuple(notes))


# -- out of the cold ---------------------------------------------------------------------------------------------


def warm_up(package: Package) -> WarmUp:
    """Return how long a package warms before it may be opened: of two published times the longer one.

    Parameters
    ----------
    package : ``one-or-two`` photographs or a single strip, a ``packet``, or a ``box``, can or album

    Returns
    -------
    WarmUp, hours

    References
    ----------
    S. Wagner, NARA, Cold Storage Handling Guidelines for Photographs (1991); IPM Working Group, low-temperature fact
    sheet (from memory).
    """
    row, sources = table()["warm_up"][package], table()["warm_up_source"]
    first, second = (row["first"][0], row["first"][1]), (row["second"][0], row["second"][1])
    return WarmUp(
        package, first, second, float(max(*first, *second)), reason_of(sources["first"]), reason_of(sources["second"])
    )


def package_of(pieces: int, in_box: bool) -> Package:
    """Return what size of package so many pieces make; whatever is in a box, can or album is a box."""
    if in_box:
        return "box"
    return "one-or-two" if pieces <= 2 else "packet"


def opens_at(out_at: datetime, package: Package) -> datetime:
    """Return the earliest time at which a package may be opened."""
    return out_at + timedelta(hours=warm_up(package).used_h)
