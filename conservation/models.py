"""Care's tables, so that Django finds them."""

from __future__ import annotations

from conservation.housing.models import HousingDecision, StandingPlace

__all__ = ["HousingDecision", "StandingPlace"]
