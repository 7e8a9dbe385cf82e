"""What is known of rooms, in words."""

from __future__ import annotations

from dataclasses import dataclass

from conservation.rooms.models import RoomFacts
from conservation.science.words import codes, word

Choices = list[tuple[str, str]]


def choices(which: str) -> Choices:
    """Return the codes and words of one of the lists about rooms, such as ``floor``, ``heat`` or ``equipment``."""
    name = f"room_{which}"
    return [(code, capitalised(word(name, code))) for code in codes(name)]


def capitalised(words: str) -> str:
    """Return words with a capital first letter, the rest as it is."""
    return words[:1].upper() + words[1:]


@dataclass(frozen=True)
class Fact:
    """One line about a room."""

    label: str
    words: str


def facts_in_words(facts: RoomFacts | None) -> list[Fact]:
    """Return what is known of a room, one line each; what nobody has said yet is left out."""
    if facts is None:
        return []

    def named(which: str, found: list[str]) -> str:
        return ", ".join(word(f"room_{which}", code) for code in found)

    walls = f"looking {named('wall', facts.outside_walls)}" if facts.outside_walls else ""
    lines = [
        ("Where in the house", word("room_floor", facts.floor) if facts.floor else ""),
        ("Outside walls", walls),
        ("Windows", "" if facts.windows is None else str(facts.windows or "none")),
        ("Daylight", word("room_light", facts.light) if facts.light else ""),
        ("Heat", named("heat", facts.heat)),
        ("Water could come from", named("water", facts.water)),
        ("Equipment", named("equipment", facts.equipment)),
    ]
    return [Fact(label, words) for label, words in lines if words]
