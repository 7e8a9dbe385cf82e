"""The moves of the whole house in words, and whether those that were accepted still help."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from archive.access.models import Account
from archive.boxes.models import Box
from archive.things.models import Thing
from conservation.reasons import Reason
from conservation.rooms.living.assess import Move, Placed, of_one, of_some
from conservation.rooms.living.gains import (
    because,
    gain_in_words,
    governing,
    guessed,
    look_first,
    reasons_for,
    sentence,
    small,
)
from conservation.rooms.living.models import MoveDecision
from conservation.rooms.living.queries import House, Loose
from conservation.science.placing import places, weigh
from conservation.science.words import word


@dataclass(frozen=True)
class MoveWords:
    """One proposed move in words."""

    move: Move
    title: str
    number: str
    public_id: str
    is_thing: bool
    source: str
    goal: str
    goal_id: str
    gain: str
    because: str
    guessed: bool
    still_bad: bool
    first: str  # what is to be done before it is moved
    reasons: tuple[Reason, ...]


def in_words(placed: Placed, move: Move) -> MoveWords:
    """Return a proposed move in words."""
    unit, house = move.unit, placed.house
    here = placed.places[placed.at[unit.here]]
    code = governing(placed, move.number, placed.at[unit.here])
    others = len([each for each in unit.contents.kinds if each != code])
    count = unit.contents.kinds.get(code, 1)
    source = " in ".join(node.title for node in house.way(unit.stands_in)[:2]) or "nowhere yet"
    way = house.way(move.goal.pk)
    goal = " in ".join(node.title for node in way if node.pk == move.goal.pk or node.level == "room")
    because = ""
    if others:
        because = f"Of what is in it, {small(code)} ({count}) suffers most and decides."
    return MoveWords(
        move=move,
        title=unit.node.title,
        number=unit.node.number,
        public_id=unit.node.public_id,
        is_thing=isinstance(unit.node, Loose),
        source=source,
        goal=goal,
        goal_id=move.goal.public_id,
        gain=sentence(gain_in_words(code, here, move.place, unit)) or "All in all it is the better place.",
        because=because,
        guessed=guessed(here, move.place),
        still_bad=weigh.verdict_on(code, move.place, unit.boxed) == "unsuitable",
        first=look_first(here),
        reasons=reasons_for(placed, code, (("Where it is now", here), ("There", move.place))),
    )


def of_goal(house: House, who: Account | None, record: Box | Thing, goal: Box | None) -> str:
    """Return what moving a box or thing into a goal gains, in one sentence; nothing where by our sums it gains none."""
    placed = of_one(house, who, record) if goal is not None else None
    if placed is None or goal is None:
        return ""
    unit = placed.units[0]
    place = next((each for each in placed.places if any(n.pk == goal.pk for n in placed.nodes.get(each.key, ()))), None)
    if place is None or _against(placed, 0, place):
        return ""
    here = placed.places[placed.at[unit.here]]
    code = governing(placed, 0, placed.at[unit.here])
    return sentence(gain_in_words(code, here, place, unit))[:300]


@dataclass(frozen=True)
class Line:
    """One box or thing in the list of all: how it fares where it is."""

    title: str
    number: str
    public_id: str
    is_thing: bool
    where: str
    verdict: str
    words: str
    blocked: str


_WORST_FIRST: Mapping[str, int] = {"unsuitable": 0, "unmeasured": 1, "watch": 2, "suits": 3}


def lines(placed: Placed) -> list[Line]:
    """Return every box and loose thing with the verdict on where it is, the worst first."""
    found = []
    for number, unit in enumerate(placed.units):
        verdict = places.VERDICTS[placed.ranking.verdict[number, placed.at[unit.here]]]
        where = " in ".join(node.title for node in placed.house.way(unit.stands_in)[:2]) or "in no room"
        found.append(
            Line(
                unit.node.title, unit.node.number, unit.node.public_id, unit.is_thing, where, verdict,
                word("living_verdict", verdict), word("hazard", unit.blocked) if unit.blocked else "",
            )
        )  # fmt: skip
    return sorted(found, key=lambda line: (_WORST_FIRST[line.verdict], line.number))


# -- accepted moves, judged again ------------------------------------------------------------------------------------


def no_longer(house: House, who: Account | None, decisions: Iterable[MoveDecision]) -> dict[int, str]:
    """Return why accepted moves no longer help, by the key of the decision, for those that do not; three queries.

    Readings, findings and what is in a box change after a move was accepted. A move the keeper decided on for a reason
    of their own, without a gain that we named, is theirs to judge and left alone.
    """
    asked = [each for each in decisions if each.gain and each.goal_id is not None]
    placed, found = of_some(house, who, [each.thing or each.box for each in asked]), {}
    for decision in asked:
        record = decision.thing or decision.box
        number = placed.number_of(record)
        place = placed.place_of(decision.goal_id)
        if number is None or place is None:
            continue
        if why := _against(placed, number, place):
            found[decision.pk] = why
    return found


def _against(placed: Placed, number: int, place: places.Place) -> str:
    """Return why a move of a unit to a place no longer helps; nothing while it does."""
    unit, ranking = placed.units[number], placed.ranking
    here, there = placed.at[unit.here], placed.at[place.key]
    if unit.blocked:
        return f"There is a hazard in it first: {word('hazard', unit.blocked)}."
    worse = ranking.verdict[number, there] > ranking.verdict[number, here]
    if not (worse or weigh.barred(place) or ranking.gain(number, here, there) <= 0):
        return ""
    code = governing(placed, number, there)
    said = because(code, place, unit)
    return f"By what is known now it would be no better there. {f'There: {said}' if said else ''}".strip()
