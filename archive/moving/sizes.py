"""Lengths and weights with their units, as people type them (pure; no Django).

An inch is 25.4 mm, a foot 12 inches, an ounce 28.349523125 g and a pound 16 ounces, by definition (international yard
and pound agreement, 1959).
"""

from __future__ import annotations

import re
from fractions import Fraction

MM = {
    "mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4, "″": 25.4, "”": 25.4,
    "ft": 304.8, "foot": 304.8, "feet": 304.8,
}  # fmt: skip
GRAMS = {
    "g": 1.0, "gram": 1.0, "grams": 1.0, "kg": 1000.0, "oz": 28.349523125, "ounce": 28.349523125,
    "ounces": 28.349523125, "lb": 453.59237, "lbs": 453.59237, "pound": 453.59237, "pounds": 453.59237,
}  # fmt: skip
_FRACTIONS = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅓": "1/3",
    "⅔": "2/3",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
}
_NUMBER = re.compile(r"^(\d{1,7}(?:[.,]\d{1,6})?)?\s*(?:(\d{1,3})\s*/\s*(\d{1,3}))?\s*([^\d\s]*)\.?$")
_TIMES = re.compile(r"\s*(?:[×*]|(?<=[\d\s\"a-z])x(?=[\d\s])|\bby\b)\s*", re.IGNORECASE)


class NoMeasure(ValueError):
    """A text that is no size or weight; the message is a sentence."""


def read_length(text: str, unit: str = "mm") -> float:
    """Return a length in millimetres; a bare number is in ``unit``.

    Raises:
        NoMeasure: it is no number with a unit of length.
    """
    return _read(text, unit, MM, "12 cm or 4 1/2 in")


def read_weight(text: str, unit: str = "g") -> float:
    """Return a weight in grams; a bare number is in ``unit``.

    Raises:
        NoMeasure: it is no number with a unit of weight.
    """
    return _read(text, unit, GRAMS, "250 g or 8 oz")


def read_size(text: str, unit: str = "mm") -> list[float]:
    """Return width, height and perhaps depth in millimetres, from ``9 × 13 cm`` or ``90 x 130 x 2``.

    A unit at the end counts for the numbers before it that have none.

    Raises:
        NoMeasure: it is not two or three lengths.
    """
    parts = [part for part in _TIMES.split(text.strip()) if part]
    if len(parts) not in (2, 3):
        raise NoMeasure("A size is two or three numbers, such as 9 × 13 cm.")
    last = re.search(r"[^\d\s.,/½¼¾⅓⅔⅛⅜⅝⅞]+$", parts[-1].strip().rstrip("."))
    common = last[0].casefold() if last and last[0].casefold() in MM else unit
    return [read_length(part, common) for part in parts]


def unit_in(heading: str) -> str | None:
    """Return the unit that a heading names, as in ``Width (cm)``."""
    for word in re.findall(r"[^\W\d_]+|[\"″]", heading.casefold())[::-1]:
        if word in MM or word in GRAMS:
            return None if word == "m" and "(" not in heading else word
    return None


def _read(text: str, unit: str, table: dict[str, float], example: str) -> float:
    plain = text.strip().casefold()
    for sign, words in _FRACTIONS.items():
        plain = plain.replace(sign, f" {words}")
    match = _NUMBER.match(plain.strip())
    if match is None or not (match[1] or match[2]):
        raise NoMeasure(f"This is no number with a unit, such as {example}.")
    whole, above, below, named = match.groups()
    factor = table.get(named or unit)
    if factor is None:
        known = ", ".join(each for each in table if each.isalpha() and len(each) <= 2)
        raise NoMeasure(f"“{named}” is no unit that is known here. Known are {known}.")
    value = Fraction((whole or "0").replace(",", "."))
    if above is not None:
        if int(below) == 0:
            raise NoMeasure("A fraction cannot be divided by nought.")
        value += Fraction(int(above), int(below))
    if value <= 0:
        raise NoMeasure("A size or weight is more than nought.")
    return float(value) * factor
