"""The keeper's units beside the archive's own: exact factors, by definition (pure)."""

from __future__ import annotations

MM_PER_INCH = 25.4
G_PER_OUNCE = 28.349523125  # avoirdupois


def fahrenheit(celsius: float) -> float:
    """Return a temperature in °F."""
    return celsius * 9 / 5 + 32


def lengths(sides_mm: list[float | None], *, inch: bool) -> str:
    """Return lengths in the keeper's unit, such as ``90 × 140 × 1 mm``; those not known are left out."""
    known = [side for side in sides_mm if side]
    shown = " × ".join(f"{side / MM_PER_INCH:.4g}" if inch else f"{side:g}" for side in known)
    return f"{shown} {'in' if inch else 'mm'}" if shown else ""
