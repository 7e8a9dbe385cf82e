"""What was seen of pests and water in a room: findings of rounds and counts of traps, weighed by ``placing.toml``."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from conservation.science.placing.tables import table
from conservation.science.traps import Count, judge


@dataclass(frozen=True, slots=True)
class Found:
    """One finding of a round: on which check, how bad, and whether it is open still or was closed lately."""

    check: str
    gravity: str
    open: bool


@dataclass(frozen=True, slots=True)
class Signs:
    """What was seen in a room, as codes of ``[risk.seen]``; nothing where nobody looked or nothing says anything."""

    pests: str = ""
    water: str = ""


NOTHING_SEEN = Signs()


def signs(findings: Iterable[Found], traps: Iterable[Sequence[Count]]) -> Signs:
    """Return what findings and the counts of each trap, those of the last months, say of a room.

    The worst sign counts. Traps that caught none of the animals that eat things say that it is quiet, unless a finding
    says otherwise.
    """
    rows = table()["risk"]["seen"]
    pests, water = [], []
    for each in findings:
        state = f"finding-{each.gravity}" if each.open else "finding-closed"
        if each.check in table()["risk"]["signs"]["pests"]:
            pests.append(f"pest-{state}")
        elif each.check in table()["risk"]["signs"]["water"]:
            water.append(f"water-{state}")
    pests += [said for counts in traps if (said := _trapped(counts))]
    worst = (max(each, key=lambda code: rows[code], default="") for each in (pests, water))
    return Signs(*worst)


def _trapped(counts: Sequence[Count]) -> str:
    """Return what one trap says; nothing if it was not counted."""
    if not counts:
        return ""
    if any(each.level == "look" for each in judge(counts)):
        return "trap-many"
    eaters = table()["risk"]["signs"]["eaters"]
    return "trap-some" if any(each.animals.get(group) for each in counts for group in eaters) else "trap-quiet"


def risk_with(guess: int, sign: str) -> int:
    """Return a risk, 0 to 3, once something was seen: never less than the sign says, one less where it is quiet."""
    said: Any = table()["risk"]["seen"].get(sign)
    if said is None:
        return guess
    return max(guess - 1, 0) if said < 0 else max(guess, int(said))
