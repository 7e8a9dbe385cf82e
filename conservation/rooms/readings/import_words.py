"""What a page says of an import: what was understood, what came of it, and which sensors it may be for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from archive.boxes.models import Box
from archive.preferences.models import Preferences
from archive.preferences.units import fahrenheit
from conservation.rooms.readings.assess_import import ROLES
from conservation.rooms.readings.clock import moment_of, zone_named
from conservation.rooms.readings.models import ReadingImport, Sensor
from conservation.rooms.readings.queries import RoomAir

NEW, OUT = "new:", "out"


def degrees(celsius: float, kept: Preferences) -> str:
    """Write a temperature in the keeper's unit."""
    if kept.units == Preferences.Units.INCH:
        return f"{fahrenheit(celsius):.1f} °F"
    return f"{celsius:.1f} °C"


def air_in_words(air: RoomAir, kept: Preferences) -> str:
    """Say what the air of a room mostly was in the last year."""
    low, high = degrees(air.temperature.p05, kept), degrees(air.temperature.p95, kept)
    damp = f"{air.humidity.p05:.0f} to {air.humidity.p95:.0f} %"
    return f"{low} to {high} and {damp} most of the time, {air.told}."


def moment(seconds: int, kept: Preferences) -> str:
    """Write a moment by the home's clock, such as ``3 Feb 2026, 14:00``."""
    at = moment_of(seconds, zone_named(kept.zone))
    return f"{at.day} {at:%b %Y, %H:%M}"


def typed_words(record: ReadingImport, room: Box, kept: Preferences) -> str:
    """Say what was typed."""
    from conservation.rooms.readings.store import unpacked

    series = record.series.first()
    if series is None:
        return f"this reading of {room.title} was there already."
    one = unpacked(bytes(series.packed))
    warmth, damp = float(one.temperature_c[0]), float(one.humidity_pct[0])
    return f"{degrees(warmth, kept)} and {damp:.0f} % in {room.title}, {moment(int(one.at[0]), kept)}."


# -- which sensor is it ---------------------------------------------------------------------------------------


def goals(rooms: Sequence[Box], sensors: Sequence[Sensor]) -> list[tuple[str, Any]]:
    """Return what a sensor of a file may be: one that is known, a new one in a room, or nothing."""
    by_room: dict[int, list[Sensor]] = {}
    for sensor in sensors:
        if not sensor.by_hand:
            by_room.setdefault(sensor.room_id, []).append(sensor)
    found: list[tuple[str, Any]] = []
    for room in rooms:
        known = [(sensor.public_id, f"{sensor.name} in {room.title}") for sensor in by_room.get(room.pk, [])]
        found.append((room.title, [*known, (f"{NEW}{room.public_id}", f"a new sensor in {room.title}")]))
    return [*found, (OUT, "leave these readings out")]


def first_goals(record: ReadingImport, rooms: Sequence[Box], sensors: Sequence[Sensor]) -> dict[str, str]:
    """Return what is likely: what was chosen before, a sensor known by that name, or where the upload began."""
    asked_for = record.assigned.get("*", "")
    offered = {sensor.public_id for sensor in sensors} | {f"{NEW}{room.public_id}" for room in rooms}
    found = {}
    for each in record.understood.get("sensors", []):
        name = each["name"]
        known = [sensor.public_id for sensor in sensors if name and name in sensor.known_as]
        found[name] = record.assigned.get(name) or (known[0] if known else asked_for if asked_for in offered else "")
    return found


# -- what it was understood to be ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class SensorLine:
    """One sensor of a file in words."""

    name: str
    rows: str
    span: str
    every: str
    temperature: str
    humidity: str


@dataclass(frozen=True)
class Seen:
    """What a file was understood to be, in words."""

    how: list[tuple[str, str]]
    heads: list[tuple[str, str]]
    sample: list[tuple[int, list[str]]]
    sensors: list[SensorLine]
    questions: list[str]
    hints: list[str]
    blocked: bool
    refused: list[list[Any]]
    refused_count: int
    notes: list[str]
    rows: str


_ENCODINGS = {
    "utf-8": "UTF-8",
    "utf-8-sig": "UTF-8",
    "utf-16": "UTF-16",
    "latin-1": "Latin-1",
    "cp1252": "Windows-1252",
}


def preview(record: ReadingImport, kept: Preferences) -> Seen:
    """Return what a file was understood to be."""
    seen = record.understood
    roles = dict(ROLES)
    unit = {"C": "°C", "F": "°F, kept as °C"}.get(seen["unit"] or "", "not settled yet")
    order = {True: "day before month", False: "month before day", None: "told by the dates themselves"}
    how = [
        ("Written in", _ENCODINGS.get(seen["encoding"].lower(), seen["encoding"])),
        ("Columns parted by", seen["delimiter"]),
        ("Decimal mark", "comma" if seen["decimal_comma"] else "point"),
        ("Times", seen["time_kind"]),
        ("Dates", order[seen["day_first"]]),
        ("Temperatures", unit),
        ("Clock", record.choices.get("tz") or "as written"),
    ]
    heads = [
        (head or f"column {place}", roles.get(role, role) + (f" of {sensor}" if sensor else ""))
        for place, (head, role, _, sensor) in enumerate(seen["columns"], 1)
    ]
    return Seen(
        how=how,
        heads=heads,
        sample=[(line, cells) for line, cells in seen["sample"]],
        sensors=[_sensor(each, kept) for each in seen["sensors"]],
        questions=[each["text"] for each in seen["questions"] if each["blocking"]],
        hints=[each["text"] for each in seen["questions"] if not each["blocking"]],
        blocked=seen["blocked"],
        refused=seen["refused"],
        refused_count=seen["refused_count"],
        notes=seen["notes"],
        rows="1 reading" if seen["rows"] == 1 else f"{seen['rows']:,} readings",
    )


def _sensor(each: dict[str, Any], kept: Preferences) -> SensorLine:
    span = f"{moment(each['first_s'], kept)} to {moment(each['last_s'], kept)}"
    low, high = (degrees(value, kept) for value in each["t"])
    return SensorLine(
        name=each["name"],
        rows=f"{each['rows']:,}",
        span=span,
        every=interval(each["interval_s"]),
        temperature=f"{low} to {high}",
        humidity=f"{each['h'][0]:.0f} to {each['h'][1]:.0f} %",
    )


def interval(seconds: float | None) -> str:
    """Write how far readings are apart."""
    if not seconds:
        return "once"
    for size, one, many in ((86400, "day", "days"), (3600, "hour", "hours"), (60, "minute", "minutes")):
        if seconds >= size:
            count = seconds / size
            return f"every {one}" if round(count, 1) == 1 else f"every {count:.4g} {many}"
    return f"every {seconds:g} seconds"


# -- what came of it -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Overwritten:
    """A reading that was something else before."""

    at: str
    before: str
    now: str


@dataclass(frozen=True)
class Report:
    """What an import did, in words."""

    lines: list[tuple[str, str]]
    overwritten: list[Overwritten]
    refused: list[list[Any]]
    notes: list[str]
    sensors: list[Sensor]
    why_not: str


def report(record: ReadingImport, kept: Preferences) -> Report:
    """Return what an import did."""
    sensors = list(
        Sensor.objects.filter(series__source=record).select_related("room").distinct().order_by("name", "pk")
    )
    lines = []
    if record.state in (ReadingImport.State.DONE, ReadingImport.State.UNDONE):
        lines = [
            ("Readings in the file", f"{record.rows:,}"),
            ("New", f"{record.added:,}"),
            ("There already, the same", f"{record.same:,}"),
            ("There with other numbers, now as in the file", f"{record.changed:,}"),
            ("Rows refused", f"{record.refused_count:,}"),
        ]
    overwritten = [
        Overwritten(
            moment(at, kept),
            f"{degrees(t_before / 100, kept)}, {h_before / 100:g} %",
            f"{degrees(t_now / 100, kept)}, {h_now / 100:g} %",
        )
        for at, t_before, h_before, t_now, h_now in record.overwritten
    ]
    why_not = record.understood.get("not_readings", "")
    return Report(lines, overwritten, record.refused, record.notes, sensors, why_not)
