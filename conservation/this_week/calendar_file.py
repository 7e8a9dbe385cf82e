"""What is due, as a calendar file (RFC 5545): whole days, names that stay, no alarms."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from conservation.this_week import assess
from conservation.this_week.assess import Line
from conservation.this_week.models import OwnJob, WeekCalendar
from conservation.this_week.queries import uid_of


def write(lines: Iterable[Line], own: Sequence[OwnJob], row: WeekCalendar, zone: str, now: datetime) -> bytes:
    """Return the calendar of all jobs that have a day, in words that the keeper allows.

    Parameters
    ----------
    lines : jobs; those without a day are left out
    own : the keeper's own jobs, for the rules by which they come back
    row : what the calendar may say
    zone : the home's time zone, for programs that want to know
    now : time of writing, in UTC

    Returns
    -------
    bytes
        Ends of lines and folding as RFC 5545 asks (by icalendar).
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", "-//Kistbook//This week//EN")
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", "Kistbook")
    calendar.add("x-wr-timezone", zone)
    rules = {each.key: each for each in own}
    for line in lines:
        if line.day is not None:
            calendar.add_component(_event(line, rules.get(line.key), row, now))
    content: bytes = calendar.to_ical()
    return content


def _event(line: Line, own: OwnJob | None, row: WeekCalendar, now: datetime) -> Any:
    from icalendar import Event, vRecur

    event = Event()
    day: date = line.day  # type: ignore[assignment]
    event.add("uid", uid_of(line.key))
    event.add("dtstamp", now)
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("summary", say(line, own is not None, row.says))
    event.add("transp", "TRANSPARENT")
    event.add("sequence", own.version - 1 if own is not None else 0)
    rule = assess.rule_of(own) if own is not None and day == own.due else None
    if rule:
        event.add("rrule", vRecur.from_ical(rule))
    return event


def say(line: Line, is_own: bool, says: str) -> str:
    """Return the words of a job for a calendar, no more than the keeper allows."""
    told = says == WeekCalendar.Says.ALL or (says == WeekCalendar.Says.OWN and is_own)
    return f"{line.job.words if told else 'Kistbook: something to do'} ({line.minutes} min)"
