"""The readings themselves, and their days: the one place that knows the two plain tables.

``conservation_reading``: sensor, epoch second, hundredths of °C, hundredths of % RH; key sensor and second, no row ids.
``conservation_dailyair``: sensor, day since 1970-01-01 by the home's clock, how many readings, least, mean and largest
of both, minutes above 75 %, how fast paper aged, and the day's largest mould index of four classes in thousandths.
Neither has a history; every reading came with an import, and an import can be taken back.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db import connection

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

EARLIEST_S, LATEST_S = -(2**62), 2**62
_HUNDREDTHS = 100
_THOUSANDTHS = 1000
# So many rows in one statement: few enough for every SQLite's limit of parameters, and as fast as it gets.
_ROWS_AT_ONCE = 200


@dataclass(frozen=True, slots=True)
class Stored:
    """Readings of one sensor in order of time, in whole hundredths."""

    at: Ints
    temperature: Ints
    humidity: Ints

    def __len__(self) -> int:
        return len(self.at)

    @property
    def temperature_c(self) -> Any:
        """Temperatures in °C."""
        return self.temperature / _HUNDREDTHS

    @property
    def humidity_pct(self) -> Any:
        """Relative humidities in %."""
        return self.humidity / _HUNDREDTHS

    def between(self, first_s: int, last_s: int) -> Stored:
        """Return the readings from one second to another, both included."""
        import numpy as np

        part = slice(int(np.searchsorted(self.at, first_s)), int(np.searchsorted(self.at, last_s, side="right")))
        return Stored(self.at[part], self.temperature[part], self.humidity[part])


def in_hundredths(at: Any, temperature_c: Any, humidity_pct: Any) -> Stored:
    """Return readings as the table keeps them; of several in one second the last one counts."""
    import numpy as np

    at = np.asarray(at, dtype=np.int64)
    warmth = np.rint(np.asarray(temperature_c, dtype=np.float64) * _HUNDREDTHS).astype(np.int64)
    damp = np.rint(np.asarray(humidity_pct, dtype=np.float64) * _HUNDREDTHS).astype(np.int64)
    return laid_over([Stored(at, warmth, damp)])


def laid_over(layers: Iterable[Stored]) -> Stored:
    """Lay readings over one another: of those in one second the one laid on last is seen."""
    import numpy as np

    each = list(layers)
    if not each:
        none = np.array([], dtype=np.int64)
        return Stored(none, none, none)
    at = np.concatenate([layer.at for layer in each])
    if len(at) < 2 or (np.diff(at) > 0).all():
        last: Any = slice(None)
    else:
        order = np.argsort(at, kind="stable")
        last = order[np.append(np.diff(at[order]) > 0, True)]
    return Stored(
        at[last],
        np.concatenate([layer.temperature for layer in each])[last],
        np.concatenate([layer.humidity for layer in each])[last],
    )


def packed(readings: Stored) -> bytes:
    """Pack readings: the first second, the steps between, temperatures, humidities; compressed."""
    import numpy as np

    steps = np.diff(readings.at, prepend=readings.at[:1])
    parts = (
        readings.at[:1].astype("<i8"),
        steps.astype("<u4"),
        readings.temperature.astype("<i2"),
        readings.humidity.astype("<u2"),
    )
    return zlib.compress(b"".join(part.tobytes() for part in parts), 6)


def unpacked(data: bytes) -> Stored:
    """Return the readings of `packed`."""
    import numpy as np

    raw = zlib.decompress(data)
    count = (len(raw) - 8) // 8
    first = int(np.frombuffer(raw, "<i8", 1)[0])
    steps = np.frombuffer(raw, "<u4", count, 8).astype(np.int64)
    warmth = np.frombuffer(raw, "<i2", count, 8 + 4 * count).astype(np.int64)
    damp = np.frombuffer(raw, "<u2", count, 8 + 6 * count).astype(np.int64)
    return Stored(first + np.cumsum(steps), warmth, damp)


# -- reading -------------------------------------------------------------------------------------------------


def readings_of(sensor_id: int, first_s: int = EARLIEST_S, last_s: int = LATEST_S) -> Stored:
    """Return a sensor's readings from one epoch second to another, both included."""
    import numpy as np

    with connection.cursor() as cursor:
        # Three long texts come out of SQLite four times as fast as half a million rows.
        cursor.execute(
            "SELECT group_concat(at), group_concat(temperature), group_concat(humidity) FROM (SELECT at, temperature, "
            "humidity FROM conservation_reading WHERE sensor_id = %s AND at BETWEEN %s AND %s ORDER BY at)",
            [sensor_id, first_s, last_s],
        )
        texts = cursor.fetchone()
    return Stored(*(np.fromstring(text or "", dtype=np.int64, sep=",") for text in texts))


def span_of(sensor_id: int) -> tuple[int, int, int]:
    """Return how many readings a sensor has, and the seconds of the first and the last; zeros where there is none."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*), min(at), max(at) FROM conservation_reading WHERE sensor_id = %s", [sensor_id])
        count, first, last = cursor.fetchone()
    return int(count), int(first or 0), int(last or 0)


def last_before(sensor_id: int, second: int) -> tuple[int, float, float] | None:
    """Return the last reading up to a second: when, °C and %; None where there is none."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT at, temperature, humidity FROM conservation_reading WHERE sensor_id = %s AND at <= %s "
            "ORDER BY at DESC LIMIT 1",
            [sensor_id, second],
        )
        row = cursor.fetchone()
    return None if row is None else (int(row[0]), row[1] / _HUNDREDTHS, row[2] / _HUNDREDTHS)


@dataclass(frozen=True, slots=True)
class Day:
    """One day of one sensor: °C, % RH, hours above 75 %, how fast paper aged, mould index by class."""

    day: int
    count: int
    t_min: float
    t_mean: float
    t_max: float
    h_min: float
    h_mean: float
    h_max: float
    damp_hours: float
    rate: float
    mould: tuple[float | None, ...]


def days_of(sensor_id: int, first: int, last: int) -> list[Day]:
    """Return a sensor's days from one to another, both included, as numbers of days since 1970-01-01."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT day, count, t_min, t_mean, t_max, h_min, h_mean, h_max, damp_min, rate, "
            "mould_1, mould_2, mould_3, mould_4 FROM conservation_dailyair "
            "WHERE sensor_id = %s AND day BETWEEN %s AND %s ORDER BY day",
            [sensor_id, first, last],
        )
        rows = cursor.fetchall()
    return [_day(row) for row in rows]


def _day(row: Any) -> Day:
    t_min, t_mean, t_max, h_min, h_mean, h_max = (value / _HUNDREDTHS for value in row[2:8])
    mould = tuple(None if value is None else value / _THOUSANDTHS for value in row[10:14])
    return Day(row[0], row[1], t_min, t_mean, t_max, h_min, h_mean, h_max, row[8] / 60, row[9], mould)


# -- writing; called by the actions only, inside their change ----------------------------------------------------


def _insert(table: str, sensor_id: int, columns: list[Ints | list[Any]]) -> None:
    """Insert rows of one sensor, many in one statement."""
    import numpy as np

    if all(not isinstance(column, list) for column in columns):
        flat: list[Any] = np.column_stack(columns).ravel().tolist()
    else:
        plain = [column if isinstance(column, list) else column.tolist() for column in columns]
        flat = [value for row in zip(*plain, strict=True) for value in row]
    width = len(columns)
    one = f"({int(sensor_id)}, {', '.join('?' * width)})"
    many = f"INSERT OR REPLACE INTO {table} VALUES {', '.join([one] * _ROWS_AT_ONCE)}"  # noqa: S608 - our own names
    connection.ensure_connection()
    # SQLite's own connection, in the transaction that is open: going through Django's cursor takes twice as long.
    raw = connection.connection
    size = _ROWS_AT_ONCE * width
    for start in range(0, len(flat), size):
        part = flat[start : start + size]
        short = len(part) // width
        raw.execute(many if short == _ROWS_AT_ONCE else many.replace(f", {one}", "", _ROWS_AT_ONCE - short), part)


def put_readings(sensor_id: int, readings: Stored) -> None:
    """Write readings; what stood at the same seconds is replaced."""
    _insert("conservation_reading", sensor_id, [readings.at, readings.temperature, readings.humidity])


def clear_readings(sensor_id: int, first_s: int, last_s: int) -> None:
    """Delete readings from one second to another, both included."""
    with connection.cursor() as cursor:
        cursor.execute(
            "DELETE FROM conservation_reading WHERE sensor_id = %s AND at BETWEEN %s AND %s",
            [sensor_id, first_s, last_s],
        )


def put_days(sensor_id: int, columns: list[Any]) -> None:
    """Write all days of a sensor anew: the columns of the table after the sensor, in their order."""
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM conservation_dailyair WHERE sensor_id = %s", [sensor_id])
    if columns:
        _insert("conservation_dailyair", sensor_id, columns)
