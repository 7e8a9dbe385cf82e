"""Writing what the keeper says of jobs, their own jobs, and the calendar."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from conservation.this_week.assess import Line, next_day
from conservation.this_week.models import MOST_MINUTES, OwnJob, PutOff, WeekCalendar, Work
from conservation.this_week.queries import calendar


def put_off(who: Account, line: Line, until: date, reason: str) -> PutOff:
    """Have a job not shown until a day."""
    with changing(who, "this_week.put_off"):
        row = PutOff.objects.filter(key=line.key).first()
        if row is None:
            row = PutOff(key=line.key)
        else:
            touch(row)
        row.words, row.until, row.reason = line.job.words[:300], until, reason
        row.save()
    return row


def bring_back(who: Account, row: PutOff) -> None:
    """Have a job that was put off shown again now."""
    with changing(who, "this_week.bring_back"):
        row.delete()


def begin(who: Account, line: Line) -> Work:
    """Write down that a job is begun now; one that is in hand already stays as it is."""
    with changing(who, "this_week.begin"):
        row = Work.objects.filter(key=line.key, done_on__isnull=True).first()
        if row is None:
            row = _work_of(line)
            row.began_at = timezone.now()
            row.save()
    return row


def stop(who: Account, row: Work) -> None:
    """Write down that a job in hand was not done; it is on the list again."""
    with changing(who, "this_week.stop"):
        row.delete()


def done(who: Account, line: Line, day: date, minutes: int | None) -> Work:
    """Write down that a job was done, and how long it took; one's own job comes back by its rule, or ends."""
    with changing(who, "this_week.done"):
        row = Work.objects.filter(key=line.key, done_on__isnull=True).first() or _work_of(line)
        _finish(row, day, minutes)
    return row


def finish(who: Account, row: Work, day: date, minutes: int | None) -> None:
    """Write down that a job in hand is done, and how long it took."""
    with changing(who, "this_week.done"):
        _finish(row, day, minutes)


def note_time(who: Account | None, sort: str, words: str, expected: int, day: date, minutes: int) -> Work:
    """Write down how long a job of a kind took, of which no more is known."""
    with changing(who, "this_week.note_time"):
        row = Work(key=f"{sort}/{day}", sort=sort, words=words, expected=expected, done_on=day, minutes=minutes)
        row.save()
    return row


def _work_of(line: Line) -> Work:
    return Work(
        key=line.key, sort=line.job.sort, words=line.job.words[:300], url=line.job.url[:500],
        expected=min(line.expected, MOST_MINUTES),
    )  # fmt: skip


def _finish(row: Work, day: date, minutes: int | None) -> None:
    if row.pk is not None:
        touch(row)
    row.done_on, row.minutes = day, minutes
    row.save()
    for off in PutOff.objects.filter(key=row.key):
        off.delete()
    own = OwnJob.objects.filter(public_id=row.key.removeprefix("own/"), ended_on__isnull=True).first()
    if own is not None and row.key == own.key:
        following = next_day(own, day)
        if following is None:
            own.ended_on = day
        else:
            own.due = following
            own.starts = own.starts or following
        touch(own)
        own.save()


def save_own(who: Account, own: OwnJob | None, values: Mapping[str, Any]) -> OwnJob:
    """Write down a job of one's own; a new day begins its rule anew."""
    with changing(who, "this_week.own"):
        if own is None:
            own = OwnJob()
        else:
            touch(own)
        anew = own.pk is None or any(getattr(own, name) != values[name] for name in ("due", "repeat", "every"))
        for name, value in values.items():
            setattr(own, name, value)
        if anew:
            own.starts = own.due
        own.save()
    return own


def end_own(who: Account, own: OwnJob) -> None:
    """Take a job of one's own off the list for good; its history stays."""
    with changing(who, "this_week.end_own"):
        own.ended_on = timezone.localdate()
        touch(own)
        own.save()


def set_calendar(who: Account, is_open: bool, says: str) -> WeekCalendar:
    """Say whether calendars may read what is due, and how much they are told."""
    with changing(who, "this_week.calendar"):
        row = calendar()
        if row.pk is not None:
            touch(row)
        row.is_open, row.says = is_open, says
        row.save()
    return row


def new_address(who: Account) -> WeekCalendar:
    """Give the calendar another address; the old one opens nothing any more."""
    with changing(who, "this_week.new_address"):
        row = calendar()
        if row.pk is not None:
            touch(row)
        row.turn += 1
        row.save()
    return row
