"""Reading a place on the globe as people type it: degrees, or degrees and minutes, with letters or signs (pure)."""

from __future__ import annotations

import re

_ODD = str.maketrans({"º": "°", "˚": "°", "'": "′", "’": "′", "‘": "′", "´": "′", "`": "′", '"': "″", "”": "″",
                      "“": "″", "−": "-", "–": "-"})  # fmt: skip
_NUMBER = r"\d+(?:\.\d+)?"
_ANGLE = rf"(?P<d>{_NUMBER})\s*°?\s*(?:(?P<m>{_NUMBER})\s*′\s*(?:(?P<s>{_NUMBER})\s*(?:″|′′)\s*)?)?"
_WITH_LETTER = re.compile(rf"{_ANGLE}(?P<after>[NSEW])", re.IGNORECASE)
_LETTER_FIRST = re.compile(rf"(?P<before>[NSEW])\s*{_ANGLE}", re.IGNORECASE)
_SIGNED = re.compile(rf"(?P<sign>[+-]?)\s*{_ANGLE}")
_EXAMPLE = "Type it such as 54.32, 10.14 or 54°19′N 10°8′E."


class NotCoordinates(ValueError):
    """The text names no place on the globe; the message is a sentence for the page."""


def read_coordinates(text: str) -> tuple[float, float]:
    """Return latitude and longitude in degrees, north and east positive.

    Without letters the first number is the latitude, as ISO 6709:2022 orders them. Minutes and seconds are sixtieths.

    Raises:
        NotCoordinates: it cannot be read, or lies outside the globe.
    """
    typed = " ".join(text.translate(_ODD).split())
    letters = re.findall(r"[NSEW]", typed, re.IGNORECASE)
    if letters:
        # With letters a comma inside a number can only be a decimal comma.
        typed = re.sub(r"(?<=\d),(?=\d)", ".", typed)
    latitude, longitude = _lettered(typed) if letters else _numbers(typed)
    if abs(latitude) > 90:
        raise NotCoordinates(f"The latitude is {latitude:g}°, but it lies between 90° south and 90° north. {_EXAMPLE}")
    if abs(longitude) > 180:
        raise NotCoordinates(f"The longitude is {longitude:g}°, but it lies between 180° west and 180° east.")
    return latitude, longitude


def _lettered(typed: str) -> tuple[float, float]:
    found: dict[str, float] = {}
    pattern = _LETTER_FIRST if typed[:1].isalpha() else _WITH_LETTER
    rest = typed
    while rest:
        match = pattern.match(rest)
        if match is None:
            raise NotCoordinates(f"“{rest}” cannot be read as degrees. {_EXAMPLE}")
        letter = (match.groupdict().get("after") or match.groupdict().get("before") or "").upper()
        axis = "latitude" if letter in "NS" else "longitude"
        if axis in found:
            raise NotCoordinates(f"It names the {axis} twice. One number needs N or S, the other E or W. {_EXAMPLE}")
        found[axis] = _degrees(match) * (-1 if letter in "SW" else 1)
        rest = rest[match.end() :].lstrip(" ,;")
    if len(found) < 2:
        missing = "E or W" if "latitude" in found else "N or S"
        raise NotCoordinates(f"One number with {missing} is missing. {_EXAMPLE}")
    return found["latitude"], found["longitude"]


def _numbers(typed: str) -> tuple[float, float]:
    first = _SIGNED.match(typed)
    if first is None:
        raise NotCoordinates(f"No degrees were found in this. {_EXAMPLE}")
    second = _SIGNED.fullmatch(typed[first.end() :].lstrip(" ,;"))
    if second is None:
        raise NotCoordinates(f"Two numbers are needed, the latitude and then the longitude. {_EXAMPLE}")
    north, east = (_degrees(each) * (-1 if each["sign"] == "-" else 1) for each in (first, second))
    return north, east


def _degrees(match: re.Match[str]) -> float:
    minutes, seconds = float(match["m"] or 0), float(match["s"] or 0)
    if minutes >= 60 or seconds >= 60:
        raise NotCoordinates("A degree has 60 minutes and a minute 60 seconds, so neither number can be 60 or more.")
    return float(match["d"]) + minutes / 60 + seconds / 3600


def in_words(latitude: float, longitude: float) -> str:
    """Return a place on the globe as one says it, such as ``54.32° N, 10.14° E``."""
    north, east = ("N" if latitude >= 0 else "S"), ("E" if longitude >= 0 else "W")
    return f"{_plain(abs(latitude))}° {north}, {_plain(abs(longitude))}° {east}"


def _plain(degrees: float) -> str:
    return f"{degrees:.6f}".rstrip("0").rstrip(".")
