"""What a move gains, in plain words, with the reasons; and the rows of the page of one box or thing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from archive.kinds import KIND_CODES
from conservation.reasons import Reason, reason
from conservation.rooms.living.assess import Placed, Unit, goals, name_of_kind, open_to, rooms_left
from conservation.rooms.living.queries import Node
from conservation.science.ageing import ACETATE_TABLE_CITATION, ageing_citations
from conservation.science.housing import limits, verdicts
from conservation.science.placing import places, weigh
from conservation.science.placing.tables import citation, lasting
from conservation.science.sources import Citation
from conservation.science.words import codes, word

_LEAST_HOURS = 50.0  # fewer hours a year than this are not worth a word
# Signs after which what is moved may carry animals along.
ALARMING = ("pest-finding-urgent", "pest-finding-clear", "pest-finding-little", "trap-many")
_BAR = 240.0  # so wide is a bar of a whole year, in units of its drawing


def as_long(ratio: float) -> str:
    """Return how much longer something lasts, in words; nothing where the difference is too small to be sure of.

    ``ratio`` is how many times as long. The figures behind it are good to about two digits, so words are rounder.
    """
    steps = (
        (1.15, ""), (1.35, "about a quarter longer"), (1.75, "about half as long again"),
        (2.25, "about twice as long"), (2.75, "about two and a half times as long"),
    )  # fmt: skip
    for below, said in steps:
        if ratio < below:
            return said
    return f"about {round(ratio) if ratio < 20 else round(ratio, -1):.0f} times as long"


def as_fast(ratio: float) -> str:
    """Return how much faster something ages, for a place that is worse; nothing where that is not sure."""
    words = as_long(ratio)
    if not words or ("times" not in words and "twice" not in words):
        return "somewhat faster" if words else ""
    return words.replace("as long", "as fast")


def round_hours(hours: float) -> str:
    """Return a number of hours, rounder the larger it is."""
    step = 10 if hours < 200 else 50 if hours < 500 else 100
    return f"{round(hours / step) * step:,}"


def governing(placed: Placed, number: int, column: int) -> str:
    """Return the kind in a unit that decides in a place."""
    load = placed.ranking.loads[number]
    return load.kinds[int(placed.ranking.governs[number, column])]


def lasting_ratio(code: str, here: places.Place, there: places.Place) -> float | None:
    """Return how many times as long a kind lasts there as here; None where that cannot be said."""
    law = lasting(code)
    if law == "none" or "unknown" in (here.air.evidence, there.air.evidence):
        return None
    return there.air.life[law] / here.air.life[law]


def gain_in_words(code: str, here: places.Place, there: places.Place, unit: Unit) -> list[str]:
    """Return what a unit gains by moving from here to there, and what it loses, by the kind that decides: phrases."""
    boxed = unit.boxed
    name = "it" if unit.is_thing else "what is in it" if len(unit.contents.kinds) == 1 else f"the {small(code)} in it"
    found = []
    lost = []
    ratio = lasting_ratio(code, here, there)
    if ratio is not None and (longer := as_long(ratio)):
        found.append(f"{name} would last {longer} there")
    elif ratio is not None and (faster := as_fast(1 / ratio)):
        lost.append(f"{name} would age {faster} there")
    old, new = here.air.fits.get(code), there.air.fits.get(code)
    for which in ("damp", "dry", "warm", "cold") if old is not None and new is not None else ():
        fewer = (getattr(old, which) - getattr(new, which)) * places.HOURS_A_YEAR
        if fewer >= _LEAST_HOURS:
            found.append(f"about {round_hours(fewer)} fewer hours a year too {which} for it")
        elif -fewer >= _LEAST_HOURS:
            lost.append(f"about {round_hours(-fewer)} more hours a year too {which} for it")
    if here.location and here.location != there.location and _poor(here.location):
        found.append(f"it leaves {word('location', here.location)}")
    if here.water > there.water:
        found.append("water is farther away" if there.water else "no water near it")
    if here.pests > there.pests and here.pests >= 2:
        seen = here.signs.pests in codes("living_sign")
        found.append("away from the insects or mice that were found" if seen else "fewer insects and mice")
    if not boxed and here.light is not None and there.light is not None and here.light > there.light:
        found.append("out of the sun" if here.light == 3 else "darker")
    if lost:
        found.append(f"{'but ' if found else ''}{'; '.join(lost)}")
    return found


def small(code: str) -> str:
    """Return a kind in words within a sentence."""
    name = name_of_kind(code)
    return name[:1].lower() + name[1:]


def _poor(location: str) -> bool:
    return verdicts()["location"][location].verdict == "poor"


def sentence(phrases: Iterable[str]) -> str:
    """Return phrases as one sentence."""
    said = "; ".join(phrases)
    return f"{said[:1].upper()}{said[1:]}." if said else ""


def guessed(*seen: places.Place) -> bool:
    """Say whether the air of one of the places is only guessed."""
    return any(place.air.evidence == "guessed" for place in seen)


def _reason(words: str, source: Citation) -> Reason:
    return reason(words, source)


def reasons_for(placed: Placed, code: str, seen: Iterable[tuple[str, places.Place]]) -> tuple[Reason, ...]:
    """Return why places are ranked as they are for a kind: its limits, how it ages, how the air is known, the order."""
    found = [_reason(f"The air that {name_of_kind(code).lower()} wants.", each) for each in limits(code).citations]
    law = lasting(code)
    if law in ("cellulose", "slow"):
        found += [_reason("How fast it ages in warm or damp air.", each) for each in ageing_citations()[:2]]
    elif law == "acetate":
        found.append(_reason("How soon acetate film turns to vinegar.", ACETATE_TABLE_CITATION))
    for name, place in seen:
        found.append(_reason(f"{name}: {evidence_in_words(place)}.", _evidence_source(place)))
    found.append(_reason("Water, pests and light.", citation("risk")))
    found.append(_reason("How all of it is weighed into one order.", citation("weigh")))
    return tuple(dict.fromkeys(found))


def _evidence_source(place: places.Place) -> Citation:
    if place.air.evidence in ("measured", "part"):
        return Citation("readings", "of this room", "confirmed")
    return citation("guess")


def because(code: str, place: places.Place, unit: Unit) -> str:
    """Return in words what keeps a place from suiting a unit; nothing where nothing does."""
    found = [each for each in weigh.causes(code, place, unit.boxed) if each != "guess" and each != "unknown"]
    seen = {"water": place.signs.water, "pests": place.signs.pests}
    return sentence(
        word("living_sign", seen[each]) if seen.get(each) in codes("living_sign") else word("living_cause", each)
        for each in found
    )


def look_first(place: places.Place) -> str:
    """Return what is to be done before something leaves a place where pests were seen; nothing where none were."""
    return word("living_first", "pests") if place.signs.pests in ALARMING else ""


def evidence_in_words(place: places.Place) -> str:
    """Return how the air of a place is known."""
    cold = "cold-unknown" if place.air.evidence == "unknown" else "cold"
    words = word("living_evidence", cold if place.cold else place.air.evidence)
    return words.format(days=round(place.air.days))


# -- one box or thing ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Bar:
    """A part of a bar: hours of a year that are too damp, dry, warm or cold, and where it is drawn."""

    which: str
    words: str
    hours: int
    x: float
    y: float
    width: float


@dataclass(frozen=True)
class Row:
    """One room, at its best place for a box or thing."""

    title: str
    where: str  # the best place in the room, when it is not the room itself
    goal: Node | None
    public_id: str
    verdict: str
    verdict_words: str
    because: str
    evidence: str
    guessed: bool
    gain: str
    ratio: str  # how it would last against where it is now
    bars: tuple[Bar, ...]
    known: bool
    here: bool
    better: bool


@dataclass(frozen=True)
class Page:
    """Where one box or thing should live."""

    unit: Unit
    governs: str  # the kind that decides, in words
    shares: tuple[tuple[str, int], ...]  # what is in it: kind and number
    here: str
    here_verdict: str
    here_words: str
    here_because: str
    rows: tuple[Row, ...]
    best: Row | None
    reasons: tuple[Reason, ...]
    unknown_rooms: int


def bars_of(code: str, place: places.Place) -> tuple[Bar, ...]:
    """Return the hours of a year in which the air of a place is wrong for a kind: humidity above, warmth below."""
    fit = place.air.fits.get(code)
    if fit is None:
        return ()
    found = []
    for y, lane in ((2.0, ("damp", "dry")), (12.0, ("warm", "cold"))):
        x = 1.0
        for which in lane:
            share = getattr(fit, which)
            width = min(share * _BAR, _BAR + 1 - x)
            if (hours := round(share * places.HOURS_A_YEAR)) >= 1:
                found.append(Bar(which, f"too {which}", hours, round(x, 1), y, round(max(width, 0.0), 1)))
                x += width
    return tuple(found)


def page_of(placed: Placed, number: int = 0) -> Page:
    """Return the ranking of one unit, a row for each room and each cold place that may take it."""
    unit, ranking, house = placed.units[number], placed.ranking, placed.house
    here = placed.at[unit.here]
    here_place = placed.places[here]
    code = governing(placed, number, here)
    left = rooms_left(placed)
    here_room = house.room_of(unit.stands_in)
    rows: dict[int, Row] = {}
    seen: list[tuple[str, places.Place]] = []
    for column in ranking.order(number):
        place = placed.places[column]
        group = placed.nodes.get(place.key, [])
        if not group or not open_to(unit, place):
            continue
        cold_node = next((node for node in house.way(group[0].pk) if node.pk in house.cold), None)
        room = cold_node or house.room_of(group[0].pk)
        if room is None or room.pk in rows:
            continue
        into = goals(placed, unit, place, left)
        is_here = column == here or (here_room is not None and room.pk == here_room.pk and not into)
        rows[room.pk] = _row(placed, number, (here, column), room, into, is_here, code)
        seen.append((room.title, place))
    best = next((row for row in rows.values() if row.better), None)
    named_here = " in ".join(node.title for node in house.way(unit.stands_in)[:2]) or "in no room"
    counted = sorted(unit.contents.kinds.items(), key=lambda pair: -pair[1])
    return Page(
        unit=unit,
        governs=name_of_kind(code),
        shares=tuple((name_of_kind(each), count) for each, count in counted if each in KIND_CODES),
        here=named_here,
        here_verdict=places.VERDICTS[ranking.verdict[number, here]],
        here_words=word("living_verdict", places.VERDICTS[ranking.verdict[number, here]]),
        here_because=because(code, here_place, unit),
        rows=tuple(rows.values()),
        best=best,
        reasons=reasons_for(placed, code, [("Where it is now", here_place), *seen]),
        unknown_rooms=sum(1 for row in rows.values() if not row.known),
    )


def _row(
    placed: Placed, number: int, columns: tuple[int, int], room: Node, into: list[Node], is_here: bool, code: str
) -> Row:
    here, column = columns
    unit, ranking = placed.units[number], placed.ranking
    place, here_place = placed.places[column], placed.places[here]
    verdict = places.VERDICTS[ranking.verdict[number, column]]
    better = not unit.blocked and not is_here and bool(into) and ranking.better(number, here, column)
    ratio = lasting_ratio(code, here_place, place)
    goal = into[0] if into else None
    return Row(
        title=room.title,
        where=goal.title if goal is not None and goal.pk != room.pk else "",
        goal=goal,
        public_id=room.public_id,
        verdict=verdict,
        verdict_words=word("living_verdict", verdict),
        because=because(code, place, unit),
        evidence=evidence_in_words(place),
        guessed=guessed(place),
        gain=sentence(gain_in_words(code, here_place, place, unit)) if not is_here else "",
        ratio=_against_here(ratio) if not is_here else "as now",
        bars=bars_of(code, place),
        known=place.air.evidence != "unknown",
        here=is_here,
        better=better,
    )


def _against_here(ratio: float | None) -> str:
    if ratio is None:
        return "not known"
    if ratio >= 1:
        return as_long(ratio) or "about as long"
    fast = as_fast(1 / ratio)
    return f"ages {fast}" if fast else "about as long"
