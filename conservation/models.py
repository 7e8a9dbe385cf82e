"""Care's tables, so that Django finds them."""

from __future__ import annotations

from conservation.housing.models import HousingDecision, StandingPlace
from conservation.on_show.models import (
    BarredSpot,
    DisplayPlan,
    LightUse,
    LuxReading,
    OccasionThing,
    OwnOccasion,
    PlannedShowing,
    Showing,
    ShowPolicy,
    Spot,
    ThingLight,
)
from conservation.rooms.models import RoomFacts

__all__ = [
    "BarredSpot",
    "DisplayPlan",
    "HousingDecision",
    "LightUse",
    "LuxReading",
    "OccasionThing",
    "OwnOccasion",
    "PlannedShowing",
    "RoomFacts",
    "ShowPolicy",
    "Showing",
    "Spot",
    "StandingPlace",
    "ThingLight",
]
