"""Clocks: resets, summer time, and from the clock's own time to UTC."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

Times = NDArray[np.int64]
Mask = NDArray[np.bool_]

DAY_S = 86400
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_FACTORY_YEARS_END = int(datetime(2002, 1, 1, tzinfo=UTC).timestamp())
_FAR_BACK_S = 180 * DAY_S
EARLIEST_S = int(datetime(1900, 1, 1, tzinfo=UTC).timestamp())
LATEST_S = int(datetime(2200, 1, 1, tzinfo=UTC).timestamp())
"""No reading is from before or after these."""


def zone_of(name: str) -> ZoneInfo:
    """Return a time zone by its name, such as "Europe/London".

    Raises
    ------
    ValueError
        There is no such zone.
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise ValueError(f"tz: {name!r} is no time zone") from None


def naive(seconds: int) -> datetime:
    """Return the clock's own time of seconds counted as if they were UTC."""
    return (_EPOCH + timedelta(seconds=int(seconds))).replace(tzinfo=None)


def reset_rows(local_s: Times) -> Mask:
    """Return which rows were written after a logger's clock fell back to its first day.

    Parameters
    ----------
    local_s : array [seconds], in the order of the file

    Returns
    -------
    array of bool

    Notes
    -----
    A fall of half a year or more that ends before 2002, or on a 1 January just after midnight, is a reset; it lasts
    until the clock is set forward again. A file that begins on such a day and then leaps forward began unset.
    """
    marked = np.zeros(len(local_s), dtype=bool)
    if len(local_s) < 2:
        return marked
    steps = np.diff(local_s)
    for fall in np.flatnonzero(steps <= -_FAR_BACK_S) + 1:
        if marked[fall] or not _looks_unset(int(local_s[fall])):
            continue
        forward = np.flatnonzero(steps[fall:] >= _FAR_BACK_S)
        end = fall + int(forward[0]) + 1 if len(forward) else len(local_s)
        marked[fall:end] = True
    leaps = np.flatnonzero(steps >= _FAR_BACK_S)
    if len(leaps) and not marked[0] and local_s[0] < _FACTORY_YEARS_END and _looks_unset(int(local_s[0])):
        marked[: int(leaps[0]) + 1] = True
    return marked


def _looks_unset(seconds: int) -> bool:
    moment = naive(seconds)
    return seconds < _FACTORY_YEARS_END or (moment.month == 1 and moment.day == 1 and moment.hour < 1)


@dataclass(frozen=True, slots=True)
class Utc:
    """Moments in UTC, and what summer time did to them."""

    times_s: Times
    second_pass: int  # rows in an hour that the clock went through a second time
    first_pass: int  # rows in such an hour that were taken as its first time
    never_was: int  # rows in an hour that the clock left out
    all_winter: bool = False  # the clock does not follow summer time: winter time was taken throughout


def to_utc(local_s: Times, values: NDArray[np.float64], zone: ZoneInfo) -> Utc:
    """Bring the clock's own times to UTC.

    Parameters
    ----------
    local_s : array [seconds counted as if UTC], in the order of the file
    values : array, temperature and humidity of the rows, to tell a copied row from an hour that came twice
    zone : the time zone the clock was set to

    Returns
    -------
    Utc

    Notes
    -----
    In the autumn hour that comes twice the order of the file decides: once it steps back, or repeats a time, the
    second pass has begun. Only days on which the zone's offset changes are looked at row by row. A clock that shows
    the hour left out in spring, and runs on evenly only when summer time is left alone, does not follow it.
    """
    if not len(local_s):
        return Utc(local_s, 0, 0, 0)
    backwards = np.sum(np.diff(local_s) < 0) > len(local_s) / 2
    order = slice(None, None, -1) if backwards else slice(None)
    local, kept = local_s[order], values[order]
    days, where = np.unique(local // DAY_S, return_inverse=True)
    begin = np.array([_offset_s(naive(int(day) * DAY_S), zone) for day in days], dtype=np.int64)
    end = np.array([_offset_s(naive((int(day) + 1) * DAY_S), zone) for day in days], dtype=np.int64)
    utc = local - begin[where]
    copies = _has_copies(local, kept, begin[where] == end[where])
    second = first = never = 0
    fold, before, before_values = 0, None, kept[0]
    for place in np.flatnonzero((begin != end)[where]):
        seconds = int(local[place])
        moment = naive(seconds)
        early, late = _offset_s(moment, zone), _offset_s(moment.replace(fold=1), zone)
        if early > late:  # the hour that came twice
            if before is not None:
                same = copies and seconds == before and np.array_equal(kept[place], before_values)
                if seconds < before or (seconds == before and not same):
                    fold = 1
            before, before_values = seconds, kept[place]
            utc[place] = seconds - (late if fold else early)
            second, first = second + fold, first + 1 - fold
            continue
        fold, before = 0, None
        never += early < late  # the hour that was left out
        utc[place] = seconds - early
    winter = local - min(int(begin.min()), int(end.min()))
    if never and not second and _steps_back(winter) < _steps_back(utc):
        return Utc(winter[order], 0, 0, never, all_winter=True)
    return Utc(utc[order], second, first, never)


def _steps_back(times: Times) -> int:
    return int((np.diff(times) <= 0).sum())


def _offset_s(moment: datetime, zone: ZoneInfo) -> int:
    offset = moment.replace(tzinfo=zone).utcoffset()
    return int(offset.total_seconds()) if offset else 0


def _has_copies(local: Times, values: NDArray[np.float64], ordinary: Mask) -> bool:
    """Return whether rows are copied elsewhere in the file, where no hour comes twice."""
    same = (np.diff(local) == 0) & (np.diff(values, axis=0) == 0).all(axis=1) & ordinary[1:]
    return bool(same.any())


def repeated_hour(local_s: Times) -> Mask:
    """Return which times lie where clocks go back in autumn: early on a Sunday.

    Parameters
    ----------
    local_s : array [seconds counted as if UTC]

    Returns
    -------
    array of bool
    """
    days = local_s // DAY_S
    sunday = (days + 3) % 7 == 6  # 1970-01-01 was a Thursday
    return np.asarray(sunday & (local_s % DAY_S < 4 * 3600))
