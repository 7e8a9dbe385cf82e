"""Care's tables, so that Django finds them."""

from __future__ import annotations

from conservation.housing.models import HousingDecision, StandingPlace
from conservation.on_show.models import (
    BarredSpot,
    DisplayPlan,
    LightUse,
    LuxReading,
    OccasionChoice,
    OccasionThing,
    OwnOccasion,
    PlannedShowing,
    Showing,
    ShowPolicy,
    Spot,
    ThingLight,
)
from conservation.rooms.cold.models import ColdPlace, ColdTrip
from conservation.rooms.freezing.models import Freezing, FreezingReading, FreezingStay, FreezingThing
from conservation.rooms.living.models import MoveDecision
from conservation.rooms.models import RoomFacts
from conservation.rooms.readings.models import ImportedSeries, ReadingImport, Sensor, SensorAir
from conservation.rooms.rounds.models import Finding, FindingPicture, FindingThing, Round, RoundRoom
from conservation.rooms.traps.models import Trap, TrapCount
from conservation.this_week.models import OwnJob, PutOff, WeekCalendar, Work

__all__ = [
    "BarredSpot",
    "ColdPlace",
    "ColdTrip",
    "DisplayPlan",
    "Finding",
    "FindingPicture",
    "FindingThing",
    "Freezing",
    "FreezingReading",
    "FreezingStay",
    "FreezingThing",
    "HousingDecision",
    "ImportedSeries",
    "LightUse",
    "LuxReading",
    "MoveDecision",
    "OccasionChoice",
    "OccasionThing",
    "OwnJob",
    "OwnOccasion",
    "PlannedShowing",
    "PutOff",
    "ReadingImport",
    "RoomFacts",
    "Round",
    "RoundRoom",
    "Sensor",
    "SensorAir",
    "ShowPolicy",
    "Showing",
    "Spot",
    "StandingPlace",
    "ThingLight",
    "Trap",
    "TrapCount",
    "WeekCalendar",
    "Work",
]
