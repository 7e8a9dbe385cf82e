"""Writing sensors and readings: typed by hand, imported, taken back; and what is kept of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.boxes.models import Box
from archive.preferences.queries import preferences
from conservation.rooms.readings import store
from conservation.rooms.readings.assess import RECIPE, sum_up
from conservation.rooms.readings.models import BY_HAND, ImportedSeries, ReadingImport, Sensor, SensorAir
from conservation.rooms.readings.queries import hand_sensor_of, stale_sensors
from conservation.rooms.readings.store import Stored

if TYPE_CHECKING:
    import numpy as np

MOST_OVERWRITTEN_LISTED = 100
# Beyond this many readings summing up is an errand's work, not a page's.
AT_ONCE = 20_000
_NO_RECIPE = 0  # of a summary that is being made


# -- sensors -----------------------------------------------------------------------------------------------------


def add_sensor(who: Account | None, room: Box, values: Mapping[str, Any]) -> Sensor:
    """Record a sensor in a room."""
    with changing(who, "sensors.add"):
        sensor = Sensor(room=room, **values)
        sensor.save()
    return sensor


def change_sensor(who: Account, sensor: Sensor, values: Mapping[str, Any]) -> None:
    """Change what is recorded of a sensor."""
    with changing(who, "sensors.change"):
        for name, value in values.items():
            setattr(sensor, name, value)
        _saved(sensor)


def retire(who: Account, sensor: Sensor, day: date | None) -> None:
    """Record that a sensor is not in use since a day; None puts it to use again. Its readings stay."""
    with changing(who, "sensors.retire"):
        sensor.retired_on = day
        _saved(sensor)


def _saved(sensor: Sensor) -> None:
    touch(sensor)
    sensor.save()


# -- readings ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Laid:
    """What laying readings over those of a sensor did."""

    added: int
    changed: int
    same: int
    overwritten: list[list[int]]  # second, °C and % before, °C and % now, in hundredths; the first hundred


def type_reading(who: Account, room: Box, second: int, temperature_c: float, humidity_pct: float) -> ReadingImport:
    """Record one reading read off by hand; the room's own sensor for such is made when there is none."""
    with changing(who, "readings.type"):
        sensor = hand_sensor_of(room)
        if sensor is None:
            sensor = add_sensor(who, room, {"name": BY_HAND, "by_hand": True})
        record = ReadingImport(typed=True, created_by=who, state=ReadingImport.State.IMPORTING)
        record.save()
        lay_import(record, {sensor.pk: store.in_hundredths([second], [temperature_c], [humidity_pct])})
    sum_up_if_few([sensor.pk])
    return record


def lay_in(who: Account | None, sensor: Sensor, readings: Stored, *, file_name: str = "", typed: bool = False) -> None:
    """Record readings of one sensor that are at hand already, as one import, and sum them up."""
    with changing(who, "readings.import"):
        record = ReadingImport(typed=typed, file_name=file_name, created_by=who, state=ReadingImport.State.IMPORTING)
        record.save()
        lay_import(record, {sensor.pk: readings})
    sum_up_sensor(sensor.pk)


def lay_import(record: ReadingImport, series: Mapping[int, Stored]) -> None:
    """Lay the readings of one import over those there are, by sensor, and note what they did. Inside a change.

    A reading of a second that has one replaces it; what stood there is listed, and comes back when the import is
    taken back. A sensor of which the import holds nothing new gets nothing.
    """
    for sensor_id, readings in series.items():
        if not len(readings):
            continue
        laid = _lay(sensor_id, readings)
        record.rows += len(readings)
        record.added += laid.added
        record.changed += laid.changed
        record.same += laid.same
        record.overwritten += laid.overwritten[: MOST_OVERWRITTEN_LISTED - len(record.overwritten)]
        if laid.added or laid.changed:
            ImportedSeries.objects.create(
                source=record,
                sensor_id=sensor_id,
                first_s=int(readings.at[0]),
                last_s=int(readings.at[-1]),
                rows=len(readings),
                packed=store.packed(readings),
            )
            note_stale([sensor_id])
    record.state, record.done_at = ReadingImport.State.DONE, timezone.now()
    record.understood = {}
    record.save()


def _lay(sensor_id: int, readings: Stored) -> Laid:
    there = store.readings_of(sensor_id, int(readings.at[0]), int(readings.at[-1]))
    if not len(there):
        store.put_readings(sensor_id, readings)
        return Laid(len(readings), 0, 0, [])
    import numpy as np

    place = np.minimum(np.searchsorted(there.at, readings.at), len(there) - 1)
    known = there.at[place] == readings.at
    same = known & (there.temperature[place] == readings.temperature) & (there.humidity[place] == readings.humidity)
    new = ~same
    store.put_readings(sensor_id, Stored(readings.at[new], readings.temperature[new], readings.humidity[new]))
    other = np.flatnonzero(known & ~same)
    return Laid(int((~known).sum()), len(other), int(same.sum()), _listed(there, readings, place, other))


def _listed(there: Stored, now: Stored, place: np.ndarray[Any, Any], other: np.ndarray[Any, Any]) -> list[list[int]]:
    few = other[:MOST_OVERWRITTEN_LISTED]
    before = place[few]
    columns = (
        now.at[few],
        there.temperature[before],
        there.humidity[before],
        now.temperature[few],
        now.humidity[few],
    )
    return [list(row) for row in zip(*(column.tolist() for column in columns), strict=True)]


def take_back(who: Account | None, record: ReadingImport) -> None:
    """Take an import back: the store is as if it had never been, whatever was imported before or since."""
    with changing(who, "readings.take_back"):
        touched = list(record.series.all())
        record.state, record.undone_at = ReadingImport.State.UNDONE, timezone.now()
        record.overwritten = []
        record.save()
        for series in touched:
            layers = ImportedSeries.objects.filter(
                sensor=series.sensor_id, first_s__lte=series.last_s, last_s__gte=series.first_s
            ).exclude(source=record)
            others = [store.unpacked(bytes(each.packed)) for each in layers.order_by("source__done_at", "source_id")]
            left = store.laid_over([each.between(series.first_s, series.last_s) for each in others])
            store.clear_readings(series.sensor_id, series.first_s, series.last_s)
            store.put_readings(series.sensor_id, left)
            series.delete()
        note_stale([series.sensor_id for series in touched])
    sum_up_if_few([series.sensor_id for series in touched])


# -- what is kept of the readings ----------------------------------------------------------------------------------


def note_stale(sensor_ids: Iterable[int]) -> None:
    """Note that what is kept of some sensors' readings is out of date."""
    for pk in sensor_ids:
        SensorAir.objects.update_or_create(sensor_id=pk, defaults={"stale": True})


def sum_up_if_few(sensor_ids: Iterable[int]) -> bool:
    """Sum up sensors with few readings at once; say whether all were. The rest is an errand's or upkeep's work."""
    done = True
    for pk in sensor_ids:
        if store.span_of(pk)[0] <= AT_ONCE:
            sum_up_sensor(pk)
        else:
            done = False
    return done


def sum_up_sensor(sensor_id: int) -> None:
    """Work out what a sensor's readings mean and write it, with its days, in one transaction.

    The sums are made outside the transaction; readings that come meanwhile leave the result marked as out of date. Cut
    off before the end it stays out of date by its recipe, so that upkeep makes it anew.
    """
    zone = preferences().zone
    SensorAir.objects.filter(sensor=sensor_id).update(stale=False, recipe=_NO_RECIPE)
    readings = store.readings_of(sensor_id)
    values: dict[str, Any] = {"rows": len(readings), "first_s": None, "last_s": None, "answer": {}}
    columns: list[Any] = []
    if len(readings):
        values["first_s"], values["last_s"] = int(readings.at[0]), int(readings.at[-1])
        values["answer"], columns = sum_up(readings, zone)
    with changing(None, "readings.sum_up"):
        store.put_days(sensor_id, columns)
        SensorAir.objects.filter(sensor=sensor_id).update(
            **values, zone=zone, recipe=RECIPE, computed_at=timezone.now()
        )


def sum_up_stale(should_stop: Callable[[], bool] = lambda: False) -> None:
    """Work out anew what is out of date."""
    for pk in stale_sensors(preferences().zone, RECIPE):
        if should_stop():
            return
        sum_up_sensor(pk)
