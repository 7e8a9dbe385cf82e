"""The keeper's units beside the archive's own: exact factors, by definition (pure)."""

from __future__ import annotations

MM_PER_INCH = 25.4
G_PER_OUNCE = 28.349523125  # avoirdupois


def fahrenheit(celsius: float) -> float:
    """Return a temperature in °F."""
    return celsius * 9 / 5 + 32
