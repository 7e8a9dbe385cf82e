"""Whether a reading typed by hand can be right, and which clocks a logger may have gone by."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from archive.preferences.units import fahrenheit
from conservation.science.figures import figures
from conservation.science.readings.quality import to_celsius

_LEAP_K, _LEAP_PCT, _WITHIN_H = 10.0, 40.0, 24.0
_COLDEST_USUAL_C, _DRIEST_USUAL_PCT = -10.0, 15.0


def doubts(
    temperature_c: float, humidity_pct: float, before: tuple[float, float, float] | None, *, inch: bool
) -> list[str]:
    """Return questions about a reading that can hardly be right; none when it can.

    Args:
        temperature_c: °C.
        humidity_pct: %.
        before: hours since the reading before it in this room, its °C and %; None when there is none.
        inch: the keeper reads °F.
    """

    def shown(value: float) -> str:
        return f"{fahrenheit(value):.0f} °F" if inch else f"{value:.0f} °C"

    found = []
    guess = figures("readings").value("fahrenheit_guess")
    if temperature_c > guess:
        if inch:
            found.append(f"{shown(temperature_c)} is hotter than any room. Is that right?")
        else:
            found.append(
                f"{shown(temperature_c)} is hotter than any room. Is it {temperature_c:.0f} °F? "
                f"That would be {float(to_celsius(temperature_c)):.1f} °C; then type that."
            )
    elif temperature_c < _COLDEST_USUAL_C:
        found.append(f"{shown(temperature_c)} is very cold for a room. Is that right?")
    if humidity_pct < _DRIEST_USUAL_PCT:
        found.append(f"{humidity_pct:g} % is drier than almost any room. Is that right?")
    if humidity_pct == 100:
        found.append("100 % is fog, or a wet sensor. Is that right?")
    if before is not None and abs(before[0]) <= _WITHIN_H:
        hours, warmth, damp = before
        leapt_t, leapt_h = abs(temperature_c - warmth) > _LEAP_K, abs(humidity_pct - damp) > _LEAP_PCT
        if leapt_t or leapt_h:
            ago = "less than an hour" if hours < 1 else f"{hours:.0f} hours"
            found.append(f"{ago.capitalize()} before it was {shown(warmth)} and {damp:.0f} %. Did it change so much?")
    return found


def winter_zone(zone: str) -> str:
    """Return a zone that stays on a zone's winter time all year; the zone itself where it never changes its clock."""
    place = ZoneInfo(zone)
    offsets = {datetime(2025, month, 1, 12, tzinfo=place).utcoffset() for month in (1, 7)}
    if len(offsets) == 1:
        return zone
    least = min(int(each.total_seconds()) for each in offsets if each is not None)
    if least % 3600:
        return zone
    hours = least // 3600
    # The names of these zones count westwards: Etc/GMT-1 is one hour east of Greenwich.
    return f"Etc/GMT{-hours:+d}" if hours else "UTC"
