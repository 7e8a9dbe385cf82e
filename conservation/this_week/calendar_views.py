"""What is due as a sheet for a month, a calendar file, and an address that a calendar reads by itself."""

from __future__ import annotations

from calendar import Calendar
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from archive.access.models import Account
from archive.access.views import keeper_of
from archive.preferences.queries import preferences
from conservation.this_week import actions, assess, calendar_file, door, queries
from conservation.this_week.assess import Line
from conservation.this_week.forms import CalendarForm
from conservation.this_week.models import WeekCalendar

_TYPE = "text/calendar; charset=utf-8"


def _lines(who: Account | None) -> list[Line]:
    found = queries.jobs(who)
    said = queries.kept(found)
    said.in_hand = []
    return assess.lines_of(found, said, timezone.localdate())


@require_safe
def month(request: HttpRequest) -> HttpResponse:
    """A sheet of one month, to print and hang up."""
    today = timezone.localdate()
    first = _month_of(request.GET.get("month", ""), today)
    last = (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
    own = {each.key: each for each in queries.own_jobs()}
    days: dict[date, list[Line]] = {}
    for line in _lines(keeper_of(request)):
        rules = own.get(line.key)
        due = [line.day] if line.day else []
        if rules is not None and line.day == rules.due:
            due = list(assess.days_of(rules, first, last))
        for day in due:
            days.setdefault(day, []).append(line)
    weeks = [
        [{"day": day, "inside": day.month == first.month, "lines": days.get(day, [])} for day in row]
        for row in Calendar().monthdatescalendar(first.year, first.month)
    ]
    context: dict[str, Any] = {
        "first": first,
        "weeks": weeks,
        "today": today,
        "count": sum(len(lines) for day, lines in days.items() if first <= day <= last),
        "before": first - timedelta(days=1),
        "after": last + timedelta(days=1),
    }
    return render(request, "this_week/month.html", context)


def _month_of(typed: str, today: date) -> date:
    """Return the first day of a month written ``2026-11``; of this month where it is none."""
    try:
        first = date.fromisoformat(f"{typed}-01")
    except ValueError:
        first = today.replace(day=1)
    if not 1900 < first.year < 2200:
        raise Http404
    return first


@require_http_methods(["GET", "HEAD", "POST"])
def calendar(request: HttpRequest) -> HttpResponse:
    """Let a calendar read what is due: turn it on, choose what it is told, give it another address."""
    who = keeper_of(request)
    row = queries.calendar()
    if request.POST.get("act") == "new":
        actions.new_address(who)
        messages.success(request, "There is a new address. The old one opens nothing any more.")
        return redirect("this_week:calendar")
    form = CalendarForm(request.POST or None, initial={"is_open": row.is_open, "says": row.says})
    if request.method == "POST" and form.is_valid():
        actions.set_calendar(who, form.cleaned_data["is_open"], form.cleaned_data["says"])
        messages.success(request, "Saved.")
        return redirect("this_week:calendar")
    context = {
        "form": form,
        "row": row,
        "address": request.build_absolute_uri(f"/this_week/feed/{queries.token_of(row)}.ics") if row.is_open else "",
    }
    return render(request, "this_week/calendar.html", context, status=422 if form.errors else 200)


def _written(who: Account | None, row: WeekCalendar) -> bytes:
    return calendar_file.write(_lines(who), queries.own_jobs(), row, preferences().zone, timezone.now())


@require_safe
def file(request: HttpRequest) -> HttpResponse:
    """The same as a file, to take along."""
    answer = HttpResponse(_written(keeper_of(request), queries.calendar()), content_type=_TYPE)
    answer["Content-Disposition"] = 'attachment; filename="kistbook.ics"'
    return answer


@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    """What a calendar reads, for whoever holds its address; it says no more than the keeper allows."""
    address = request.META.get("REMOTE_ADDR", "")
    if door.is_shut(address):
        return HttpResponse("Too many wrong addresses. Try again later.\n", content_type="text/plain", status=429)
    try:
        row = queries.open_calendar(token)
    except Http404:
        door.note_wrong(address)
        raise
    return HttpResponse(_written(queries.a_keeper(), row), content_type=_TYPE)
