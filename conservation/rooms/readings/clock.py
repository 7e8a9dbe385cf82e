"""The home's clock and epoch seconds."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

DAY_S = 86400
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_FIRST_DAY = date(1970, 1, 1)


def zone_named(name: str) -> ZoneInfo:
    """Return a time zone; UTC where the name says nothing."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return ZoneInfo("UTC")


def moment_of(seconds: int, zone: ZoneInfo) -> datetime:
    """Return the moment of epoch seconds by the home's clock."""
    return (_EPOCH + timedelta(seconds=int(seconds))).astimezone(zone)


def seconds_of(moment: datetime) -> int:
    """Return the epoch second of a moment that knows its offset."""
    return round((moment - _EPOCH).total_seconds())


def day_number(day: date) -> int:
    """Return how many days lie between 1 January 1970 and a day."""
    return (day - _FIRST_DAY).days


def day_numbered(number: int) -> date:
    """Return the day of a number of days since 1 January 1970."""
    return _FIRST_DAY + timedelta(days=int(number))


def start_of(day: date, zone: ZoneInfo) -> int:
    """Return the epoch second at which a day begins by the home's clock."""
    return seconds_of(datetime(day.year, day.month, day.day, tzinfo=zone))


def _offset(seconds: int, zone: ZoneInfo) -> int:
    offset = moment_of(seconds, zone).utcoffset()
    return int(offset.total_seconds()) if offset else 0


def local_of(times_s: NDArray[np.int64], zone: ZoneInfo) -> NDArray[np.int64]:
    """Return seconds of the home's clock, counted as if UTC, of epoch seconds.

    The zone is asked once for each day, and once for each quarter of an hour of days on which its offset changes.
    """
    import numpy as np

    if not len(times_s):
        return times_s
    days, where = np.unique(times_s // DAY_S, return_inverse=True)
    begin = np.array([_offset(int(day) * DAY_S, zone) for day in days], dtype=np.int64)
    end = np.array([_offset((int(day) + 1) * DAY_S, zone) for day in days], dtype=np.int64)
    offsets: Any = begin[where]
    changing = np.flatnonzero((begin != end)[where])
    quarters, at = np.unique(times_s[changing] // 900, return_inverse=True)
    if len(changing):
        offsets[changing] = np.array([_offset(int(each) * 900, zone) for each in quarters], dtype=np.int64)[at]
    local: NDArray[np.int64] = times_s + offsets
    return local
