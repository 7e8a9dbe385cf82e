"""Rounds through the house: what to check in which room, how often, and why (pure; no Django)."""

from __future__ import annotations

from conservation.science.rounds.intervals import Interval, Reason, Situation, due_on, interval, judge_air
from conservation.science.rounds.lists import Fill, checks_for, room_words
from conservation.science.rounds.tables import Caution, Check, cautions, checks, groups_of, kinds_of

__all__ = [
    "Caution",
    "Check",
    "Fill",
    "Interval",
    "Reason",
    "Situation",
    "cautions",
    "checks",
    "checks_for",
    "due_on",
    "groups_of",
    "interval",
    "judge_air",
    "kinds_of",
    "room_words",
]
