"""Jobs that come back: rules as RFC 5545 writes them, and the days they mean."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Literal

Unit = Literal["day", "week", "month", "year"]
_FREQUENCIES: dict[Unit, str] = {"day": "DAILY", "week": "WEEKLY", "month": "MONTHLY", "year": "YEARLY"}
_SHORTEST_MONTH = 28


def rule_of(unit: Unit, every: int, first: date, until: date | None = None) -> str:
    """Return the RRULE of something that comes back on the day of its first day.

    Parameters
    ----------
    unit, every : every so many days, weeks, months or years
    first : the day it begins
    until : the last day it may come

    Returns
    -------
    str
        An RRULE value. A month (or a February) that lacks the day takes its last day: RFC 5545, 3.3.10, would leave
        such months out.

    Raises
    ------
    ValueError
        ``every`` is below 1.
    """
    if every < 1:
        raise ValueError("something comes back every one or more days, weeks, months or years")
    parts = [f"FREQ={_FREQUENCIES[unit]}", f"INTERVAL={every}"]
    if unit == "month" and first.day > _SHORTEST_MONTH:
        days = ",".join(str(day) for day in range(_SHORTEST_MONTH, first.day + 1))
        parts += [f"BYMONTHDAY={days}", "BYSETPOS=-1"]
    if unit == "year" and (first.month, first.day) == (2, 29):
        parts += ["BYMONTH=2", "BYMONTHDAY=28,29", "BYSETPOS=-1"]
    if until is not None:
        parts.append(f"UNTIL={until:%Y%m%d}")
    return ";".join(parts)


def days_between(rule: str, first: date, start: date, end: date) -> list[date]:
    """Return the days from ``start`` to ``end``, both included, on which a rule that begins at ``first`` comes."""
    from dateutil.rrule import rrulestr

    found = rrulestr(rule, dtstart=_midnight(first)).between(_midnight(start), _midnight(end), inc=True)
    return [each.date() for each in found]


def next_after(rule: str, first: date, after: date) -> date | None:
    """Return the next day of a rule after a day; None when it comes no more."""
    from dateutil.rrule import rrulestr

    found = rrulestr(rule, dtstart=_midnight(first)).after(_midnight(after))
    return found.date() if found is not None else None


def later_by(unit: Unit, every: int, day: date) -> date:
    """Return the day so many days, weeks, months or years later; a month that lacks the day gives its last one."""
    from dateutil.relativedelta import relativedelta

    later: date = day + relativedelta(**{f"{unit}s": every})
    return later


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time())
