"""Reading sensors, imports, and what the air of rooms was like. No page reads more readings than it draws."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.db.models import Q
from django.http import Http404
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.models import Box, Level
from archive.once import read_for_page
from archive.preferences.queries import preferences
from conservation.rooms.readings import store
from conservation.rooms.readings.clock import moment_of, zone_named
from conservation.rooms.readings.models import BY_HAND, Placement, ReadingImport, Sensor, SensorAir
from conservation.where import where

YEAR_DAYS = 365
# A sensor free in the room says more of the room than one in a box or at a wall.
_BEST_PLACED = (Placement.FREE, Placement.INNER, Placement.WALL, Placement.BOX, Placement.WINDOW, Placement.PICTURE)
_OUTSIDE = Q(sensor__placement=Placement.OUTDOORS)


# -- what other subjects ask: the air of rooms --------------------------------------------------------------------


@dataclass(frozen=True)
class Spread:
    """Mean, extremes, and the middle nine tenths."""

    mean: float
    min: float
    max: float
    p05: float
    p95: float


@dataclass(frozen=True)
class KindAir:
    """How the air of the last year suited one kind; None where the kind has no limits."""

    share_in_best: float | None
    share_in_hard: float | None
    hours_too_damp: float | None
    hours_too_dry: float | None
    hours_too_warm: float | None
    hours_too_cold: float | None
    verdict: str | None  # suits, watch, unsuitable
    home_ok: bool


@dataclass(frozen=True)
class RoomAir:
    """What the air of a room was in the last 365 days that have readings, by its best placed sensor."""

    room_id: int
    sensor_id: int
    sensor: str
    first_day: date
    last_day: date
    days: float  # from the first reading to the last
    days_covered: float  # the same without gaps
    readings: int
    interval_minutes: float | None
    temperature: Spread  # °C
    humidity: Spread  # %
    dew_point_c: float | None
    life_ea70: float  # how many times as long things last as at 20 °C and 50 %, harmonic mean
    life_ea100: float  # the same for paper and cotton
    mould_peak: Mapping[int, float] | None  # by sensitivity class; None where readings are too far apart
    stale: bool  # readings came since it was worked out
    answer: Mapping[str, Any]  # all that is kept, for the pages of rooms

    @property
    def told(self) -> str:
        """Return in words by what it was measured."""
        return self.sensor if self.sensor == BY_HAND else f"by {self.sensor}"

    def of_kind(self, code: str) -> KindAir:
        """Return how this air suited a kind of thing."""
        from conservation.rooms.readings.assess import group_of

        return KindAir(*self.answer["year"]["fits"][group_of(code)])


def air_of_rooms(days: int = YEAR_DAYS, room_ids: Iterable[int] | None = None) -> dict[int, RoomAir]:
    """Return the air of rooms by the room's key, in one query; rooms without readings are left out.

    A sensor that stands in a cupboard or on a shelf speaks for the room only where no other one does; a sensor outdoors
    never does.

    Args:
        days: rooms whose last reading is longer ago than this are left out: nobody knows their air any more.
        room_ids: only these rooms, none of which a page asks for twice; all when left out.
    """
    return {room: air for room, (air, _) in sorted(_airs(days, room_ids).items()) if air is not None}


def air_of_nodes() -> dict[int, RoomAir]:
    """Return the air of furniture, shelves and boxes that have a sensor of their own, by their keys, in one query."""
    return {node: air for _, own in _airs(YEAR_DAYS, None).values() for node, air in own.items()}


def air_where(box_ids: Iterable[int | None]) -> dict[int, RoomAir]:
    """Return the air in which each of some boxes stands: that of the nearest node with a sensor, else of the room.

    Three queries; boxes whose air nobody measures are left out.
    """
    places = {box: here for box, here in where(box_ids).items() if here.room is not None}
    airs = _airs(YEAR_DAYS, {here.room for here in places.values() if here.room is not None}) if places else {}
    found = {}
    for box, here in places.items():
        room, own = airs[here.room or 0]
        air = next((own[node] for node in here.way if node in own), room)
        if air is not None:
            found[box] = air
    return found


# The air of a room, and of what stands in it and has a sensor of its own. A sensor that was carried to another room in
# its cupboard told of the room where it is recorded, and counts there alone.
_Airs = dict[int, tuple[RoomAir | None, dict[int, RoomAir]]]


def _airs(days: int, room_ids: Iterable[int] | None) -> _Airs:
    """Return the air of rooms and of what stands in them; what a page asked for before is not read again."""
    if room_ids is None:
        return _read_airs(days, None)
    wanted = set(room_ids)
    known: _Airs = read_for_page(f"air of {days} days")
    if missing := wanted - known.keys():
        known.update({room: (None, {}) for room in missing} | _read_airs(days, missing))
    return {room: known[room] for room in wanted}


def _read_airs(days: int, room_ids: Iterable[int] | None) -> _Airs:
    rows = SensorAir.objects.filter(first_s__isnull=False, sensor__withdrawn_at__isnull=True).exclude(answer={})
    rows = rows.exclude(_OUTSIDE).filter(last_s__gte=timezone.now().timestamp() - days * 86400)
    if room_ids is not None:
        rows = rows.filter(sensor__room__in=list(room_ids))
    found, zone = list(rows.select_related("sensor")), zone_named(preferences().zone)
    rooms, own = _best(found, "room_id"), _best(found, "stands_in_id")
    airs: _Airs = {room: (_room_air(row, zone), {}) for room, row in rooms.items()}
    for node, row in own.items():
        airs[row.sensor.room_id][1][node] = _room_air(row, zone)
    return airs


def outdoor_days(first: int, last: int) -> list[store.Day]:
    """Return the days of the sensor outdoors that has most of them, as numbers since 1970-01-01, both included."""
    kept = SensorAir.objects.filter(_OUTSIDE, sensor__withdrawn_at__isnull=True).order_by("-rows", "pk")
    sensor = kept.values_list("sensor_id", flat=True).first()
    return [] if sensor is None else store.days_of(sensor, first, last)


def _best(rows: Iterable[SensorAir], column: str) -> dict[int, SensorAir]:
    """Return the best placed sensor of each room, or of each node that has one of its own."""
    best: dict[int, SensorAir] = {}
    for row in rows:
        key = getattr(row.sensor, column)
        if key is not None and (key not in best or _rank(row) < _rank(best[key])):
            best[key] = row
    return best


def air_of(room: Box, days: int = YEAR_DAYS) -> RoomAir | None:
    """Return the air of one room, None where nobody has measured it lately."""
    return air_of_rooms(days, [room.pk]).get(room.pk)


def air_by(sensor: Sensor) -> RoomAir | None:
    """Return what one sensor says of its room, None where it has no readings."""
    row = SensorAir.objects.filter(sensor=sensor, first_s__isnull=False).exclude(answer={}).first()
    if row is None:
        return None
    row.sensor = sensor
    return _room_air(row, zone_named(preferences().zone))


def _rank(row: SensorAir) -> tuple[Any, ...]:
    sensor = row.sensor
    return (
        sensor.retired_on is not None,
        sensor.stands_in_id is not None,
        _BEST_PLACED.index(Placement(sensor.placement)),
        -round(float(row.answer["year"]["days"])),
        -row.rows,
        sensor.pk,
    )


def _room_air(row: SensorAir, zone: Any) -> RoomAir:
    year = row.answer["year"]
    mould = year["mould"]
    return RoomAir(
        room_id=row.sensor.room_id,
        sensor_id=row.sensor_id,
        sensor=row.sensor.name,
        first_day=moment_of(year["first_s"], zone).date(),
        last_day=moment_of(year["last_s"], zone).date(),
        days=year["days"],
        days_covered=max(0.0, year["days"] - year["gap_days"]),
        readings=year["readings"],
        interval_minutes=None if year["interval_s"] is None else year["interval_s"] / 60,
        temperature=Spread(**year["temperature"]),
        humidity=Spread(**year["humidity"]),
        dew_point_c=year["dew_point"],
        life_ea70=year["life"]["ea70"],
        life_ea100=year["life"]["ea100"],
        mould_peak=None if mould is None else {int(number): each["peak"] for number, each in mould.items()},
        stale=row.stale,
        answer=row.answer,
    )


# -- sensors and imports ------------------------------------------------------------------------------------------


def sensors_of(reader: Account | None, *, retired: bool = True) -> Any:
    """Return the sensors that this reader may see, with their rooms and what is kept of their readings."""
    sensors = Sensor.objects.visible_to(reader).present().select_related("room", "air")
    return sensors if retired else sensors.filter(retired_on__isnull=True)


def find_sensor(public_id: str, reader: Account | None) -> Sensor:
    """Return a sensor that this reader may see.

    Raises:
        Http404: there is none, or none for this reader.
    """
    found: Sensor | None = (
        Sensor.objects.visible_to(reader).select_related("room", "air", "stands_in").filter(public_id=public_id).first()
    )
    if found is None:
        raise Http404
    return found


def sensors_in_room(room: Box) -> Any:
    """Return a room's sensors with what is kept of their readings, those in use first."""
    return (
        Sensor.objects.present()
        .filter(room=room)
        .select_related("air", "stands_in")
        .order_by("retired_on", "name", "pk")
    )


def chosen_air(public_id: str, sensors: Iterable[Sensor]) -> RoomAir | None:
    """Return what one of some sensors says, where it was asked for and has readings."""
    for sensor in sensors:
        row = kept_of(sensor)
        if sensor.public_id == public_id and row is not None and row.first_s is not None and row.answer:
            row.sensor = sensor
            return _room_air(row, zone_named(preferences().zone))
    return None


def days_between(sensor_id: int, first: int, last: int) -> list[store.Day]:
    """Return a sensor's days from one to another, both included, as numbers of days since 1970-01-01."""
    return store.days_of(sensor_id, first, last)


def kept_of(sensor: Sensor) -> SensorAir | None:
    """Return what is kept of a sensor's readings; no query for sensors of `sensors_of` and `find_sensor`."""
    return getattr(sensor, "air", None)


def hand_sensor_of(room: Box) -> Sensor | None:
    """Return the sensor that stands for what is read by hand in a room."""
    return Sensor.objects.filter(room=room, by_hand=True, withdrawn_at__isnull=True).order_by("pk").first()


def find_import(public_id: str) -> ReadingImport:
    """Return an import.

    Raises:
        Http404: there is none.
    """
    found = ReadingImport.objects.filter(public_id=public_id).first()
    if found is None:
        raise Http404
    return found


def state_of(record: ReadingImport) -> str:
    """Return where an import stands, also where its errand ended before it could say so."""
    from archive.keeping.models import Errand

    under_way = record.state in (ReadingImport.State.LOOKING, ReadingImport.State.IMPORTING)
    if under_way and not Errand.objects.filter(public_id=record.errand).exclude(state__in=Errand.OVER).exists():
        looked_at = record.state == ReadingImport.State.IMPORTING
        return str(ReadingImport.State.ASKED if looked_at else ReadingImport.State.STOPPED)
    return str(record.state)


def imports() -> Any:
    """Return the imports of files, the latest first."""
    return ReadingImport.objects.filter(typed=False).defer("understood", "refused", "overwritten")


def imports_of(sensor: Sensor) -> Any:
    """Return the imports that hold readings of a sensor, the latest first, typed ones too."""
    found = ReadingImport.objects.filter(series__sensor=sensor).distinct()
    return found.defer("understood", "refused", "overwritten")


def stale_sensors(zone: str, recipe: int) -> list[int]:
    """Return the keys of sensors whose summary is out of date: readings came, the zone or the sums changed."""
    rows = SensorAir.objects.values_list("sensor_id", "stale", "zone", "recipe")
    return [pk for pk, stale, its_zone, its_recipe in rows if stale or its_zone != zone or its_recipe != recipe]


def rooms_to_choose(reader: Account | None) -> Any:
    """Return the rooms a reading may be typed for."""
    return Box.objects.visible_to(reader).present().filter(level=Level.ROOM).order_by("title_folded", "pk")


def days_ago(days: float) -> Any:
    """Return the moment so many days before now."""
    return timezone.now() - timedelta(days=days)


def span_of(sensor: Sensor) -> tuple[int, int, int]:
    """Return how many readings a sensor has, and the seconds of the first and the last."""
    return store.span_of(sensor.pk)


def sensors_in(record: ReadingImport) -> list[Sensor]:
    """Return the sensors that an import holds readings of."""
    return list(Sensor.objects.filter(series__source=record).distinct().order_by("pk"))


def hours_before(room: Box, second: int) -> tuple[float, float, float] | None:
    """Return how many hours before a second a room was last read by hand, and what it was: °C and %."""
    sensor = hand_sensor_of(room)
    last = store.last_before(sensor.pk, second) if sensor is not None else None
    return None if last is None else ((second - last[0]) / 3600, last[1], last[2])


def as_csv(sensor: Sensor) -> Any:
    """Return all readings of a sensor as an open file in a shape that can be imported again.

    Times name their offset from UTC, numbers are exact.
    """
    import tempfile

    from django.conf import settings

    readings = store.readings_of(sensor.pk)
    file = tempfile.TemporaryFile(dir=settings.DATA_FOLDER.incoming)  # noqa: SIM115 - the response closes it
    file.write("time (UTC),temperature (°C),relative humidity (%)\r\n".encode())
    columns = zip(readings.at.tolist(), readings.temperature.tolist(), readings.humidity.tolist(), strict=True)
    epoch = datetime(1970, 1, 1, tzinfo=UTC)
    for at, warmth, damp in columns:
        moment = epoch + timedelta(seconds=at)
        file.write(f"{moment:%Y-%m-%dT%H:%M:%S}Z,{warmth / 100:.2f},{damp / 100:.2f}\r\n".encode())
    file.seek(0)
    return file
