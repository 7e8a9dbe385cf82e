"""Reading what the keeper said of jobs, their own jobs, and the calendar."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from django.http import Http404
from django.utils.crypto import constant_time_compare, salted_hmac

from archive import extend
from archive.access.models import Account
from archive.extend import Job
from conservation.this_week.models import OwnJob, PutOff, WeekCalendar, Work

_TIMES_READ = 400
_DONE_SHOWN = 20


def jobs(who: Account | None) -> list[Job]:
    """Return what all subjects have to do, each with a name for good; of two with one name the first."""
    found: dict[str, Job] = {}
    for job in extend.jobs(who):
        named = job if job.key else replace(job, key=f"{job.sort or 'job'}:{job.url}"[:200])
        found.setdefault(named.key, named)
    return list(found.values())


def code_of(key: str) -> str:
    """Return the code by which addresses name a job; it tells nothing of it."""
    return hashlib.sha256(key.encode()).hexdigest()[:16]


@dataclass
class Kept:
    """What the keeper said of jobs."""

    put_off: dict[str, PutOff] = field(default_factory=dict)
    done: dict[str, date] = field(default_factory=dict)  # of jobs that are ticked off here: when, last
    times: dict[str, list[tuple[float, float]]] = field(default_factory=dict)  # kind of job → (expected, taken)
    in_hand: list[Work] = field(default_factory=list)


def kept(found: Sequence[Job]) -> Kept:
    """Return what the keeper said of some jobs, in four queries however many there are."""
    said = Kept(put_off={row.key: row for row in PutOff.objects.all()})
    ticked = [job.key for job in found if job.tick]
    rows = Work.objects.filter(key__in=ticked, done_on__isnull=False).order_by("done_on")
    said.done = {key: day for key, day in rows.values_list("key", "done_on") if day is not None}
    timed = Work.objects.filter(minutes__isnull=False).exclude(sort="").order_by("-pk")
    for sort, expected, minutes in timed.values_list("sort", "expected", "minutes")[:_TIMES_READ]:
        said.times.setdefault(sort, []).append((float(expected), float(minutes or 0)))
    said.in_hand = list(Work.objects.filter(done_on__isnull=True).order_by("pk"))
    return said


def work_in_hand(public_id: str) -> Work:
    """Return a job that was begun and is not done.

    Raises:
        Http404: there is none.
    """
    row: Work | None = Work.objects.filter(public_id=public_id, done_on__isnull=True).first()
    if row is None:
        raise Http404
    return row


def put_off_row(public_id: str) -> PutOff:
    """Return a job put off.

    Raises:
        Http404: there is none.
    """
    row: PutOff | None = PutOff.objects.filter(public_id=public_id).first()
    if row is None:
        raise Http404
    return row


def own_job(public_id: str) -> OwnJob:
    """Return a job of the keeper's own.

    Raises:
        Http404: there is none.
    """
    row: OwnJob | None = OwnJob.objects.filter(public_id=public_id).first()
    if row is None:
        raise Http404
    return row


def own_jobs() -> list[OwnJob]:
    """Return the keeper's own jobs that have not ended."""
    return list(OwnJob.objects.filter(ended_on__isnull=True))


@dataclass(frozen=True)
class Done:
    """A job done, and the act that said so."""

    work: Work
    change: str  # the address of its change set, by which it is undone


def done_lately() -> list[Done]:
    """Return the jobs done last, the latest first; two queries."""
    rows = list(Work.objects.filter(done_on__isnull=False).order_by("-done_on", "-pk")[:_DONE_SHOWN])
    history = Work.history.filter(id__in=[row.pk for row in rows]).select_related("change_set").order_by("history_id")
    changes = {row.id: row.change_set.public_id for row in history if row.change_set is not None}
    return [Done(row, changes.get(row.pk, "")) for row in rows]


def own_times() -> list[Work]:
    """Return the jobs whose minutes are known, the latest first."""
    return list(Work.objects.filter(minutes__isnull=False).exclude(sort="")[:_TIMES_READ])


def calendar() -> WeekCalendar:
    """Return the calendar's settings; a fresh row, not saved, before there are any."""
    return WeekCalendar.objects.order_by("pk").first() or WeekCalendar()


def token_of(row: WeekCalendar) -> str:
    """Return the secret in the calendar's address. It stands nowhere: it is made from the archive's own secret."""
    return salted_hmac("this_week.calendar", f"{row.public_id}:{row.turn}", algorithm="sha256").hexdigest()[:40]


def open_calendar(token: str) -> WeekCalendar:
    """Return the calendar that an address opens.

    Raises:
        Http404: it opens none, or calendars may read nothing.
    """
    row = calendar()
    if row.pk is None or not row.is_open or not constant_time_compare(token, token_of(row)):
        raise Http404
    return row


def a_keeper() -> Account | None:
    """Return the keeper in whose name a calendar reads; None when nobody keeps the archive any more."""
    return Account.objects.filter(role="keeper", is_active=True).order_by("pk").first()


def uid_of(key: str) -> str:
    """Return the name of a job in calendars: the same for good, and telling nothing."""
    return salted_hmac("this_week.event", key, algorithm="sha256").hexdigest()[:32] + "@kistbook"
