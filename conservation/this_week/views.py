"""This week: what to do next; one job; what was put off and done; how long jobs took."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from archive.access.permissions import reader
from archive.access.views import keeper_of
from archive.things.queries import latest
from conservation.this_week import actions, assess, queries
from conservation.this_week.assess import Line
from conservation.this_week.forms import DoneForm, PutOffForm, TimeForm
from conservation.this_week.models import MOST_MINUTES, Work

TIMES = ((10, "10 minutes"), (30, "half an hour"), (60, "an hour"), (120, "two hours"))


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """The first page: what to do next, most useful first."""
    who = keeper_of(request)
    form = TimeForm(request.GET if "minutes" in request.GET else None)
    have = form.cleaned_data["minutes"] if form.is_valid() else None
    found = queries.jobs(who)
    said = queries.kept(found)
    week = assess.plan(found, said, timezone.localdate(), have)
    context = {
        "week": week,
        "form": form,
        "in_hand": [_in_hand(row) for row in said.in_hand],
        "times": TIMES,
        "other_time": have if have and have not in dict(TIMES) else None,
        "rows": latest(who),
    }
    return render(request, "this_week/page.html", context, status=422 if form.errors else 200)


def _in_hand(row: Work) -> dict[str, Any]:
    """Return a job in hand with the minutes since it was begun."""
    passed = (timezone.now() - row.began_at).total_seconds() / 60 if row.began_at else 0
    return {"work": row, "minutes": min(max(round(passed), 1), MOST_MINUTES), "long_ago": passed > MOST_MINUTES}


@require_safe
def everything(request: HttpRequest) -> HttpResponse:
    """All jobs by what makes them press, what comes later, what is put off, and what was done."""
    who = keeper_of(request)
    found = queries.jobs(who)
    said = queries.kept(found)
    week = assess.plan(found, said, timezone.localdate())
    tiers = [(tier, list(lines)) for tier, lines in groupby(week.open_now, key=lambda line: line.job.tier)]
    context = {
        "tiers": tiers,
        "later": sorted(week.later, key=lambda line: (line.day or line.today, line.key)),
        "put_off": [(line, said.put_off[line.key]) for line in week.put_off],
        "done": queries.done_lately(),
    }
    return render(request, "this_week/everything.html", context)


def _find(request: HttpRequest, code: str) -> Line:
    """Return a job of the list by its code.

    Raises:
        Http404: it is not on the list (any more).
    """
    found = queries.jobs(reader(request.user))
    said = queries.kept(found)
    said.in_hand = []
    line = next((each for each in assess.lines_of(found, said, timezone.localdate()) if each.code == code), None)
    if line is None:
        raise Http404
    return line


def _job_page(request: HttpRequest, line: Line, status: int = 200, **forms: Any) -> HttpResponse:
    put_off = forms.get("put_off") or PutOffForm(tier=line.job.tier)
    done_form = forms.get("done") or DoneForm(initial={"done_on": timezone.localdate()})
    context = {"line": line, "put_off": put_off, "done": done_form, "form": forms.get("put_off") or forms.get("done")}
    return render(request, "this_week/job.html", context, status=status)


@require_safe
def job(request: HttpRequest, job: str) -> HttpResponse:
    """One job: why it stands where it does, and putting it off or ticking it off."""
    return _job_page(request, _find(request, job))


@require_POST
def start(request: HttpRequest, job: str) -> HttpResponse:
    """Begin a job: its time runs, and its page opens."""
    line = _find(request, job)
    actions.begin(keeper_of(request), line)
    messages.info(request, "Its time is running. When you are done, say so on the first page.")
    return redirect(line.job.url)


@require_POST
def put_off(request: HttpRequest, job: str) -> HttpResponse:
    line = _find(request, job)
    form = PutOffForm(request.POST, tier=line.job.tier)
    if not form.is_valid():
        return _job_page(request, line, 422, put_off=form)
    row = actions.put_off(keeper_of(request), line, form.cleaned_data["until"], form.cleaned_data["reason"].strip())
    messages.success(request, f"Put off. It comes back on {row.until.day} {row.until:%B %Y}.")
    return redirect("this_week:page")


@require_POST
def bring_back(request: HttpRequest, public_id: str) -> HttpResponse:
    actions.bring_back(keeper_of(request), queries.put_off_row(public_id))
    messages.success(request, "It is on the list again.")
    return redirect("this_week:everything")


@require_POST
def done(request: HttpRequest, job: str) -> HttpResponse:
    line = _find(request, job)
    form = DoneForm(request.POST)
    if not form.is_valid():
        return _job_page(request, line, 422, done=form)
    row = actions.done(keeper_of(request), line, form.cleaned_data["done_on"], form.cleaned_data["minutes"])
    _say_done(request, row)
    return redirect("this_week:page")


@require_POST
def finish(request: HttpRequest, public_id: str) -> HttpResponse:
    """A job in hand is done, or was left."""
    who = keeper_of(request)
    row = queries.work_in_hand(public_id)
    if request.POST.get("act") == "stop":
        actions.stop(who, row)
        messages.success(request, "It is on the list again; no time was kept.")
        return redirect("this_week:page")
    form = DoneForm(request.POST)
    if not form.is_valid():
        context = {"form": form, "work": row}
        return render(request, "this_week/finish.html", context, status=422)
    actions.finish(who, row, form.cleaned_data["done_on"], form.cleaned_data["minutes"])
    _say_done(request, row)
    return redirect("this_week:page")


def _say_done(request: HttpRequest, row: Work) -> None:
    """Say that it is noted; a job that its page has to end is still there, and that is said too."""
    found = queries.jobs(reader(request.user))
    lines = assess.lines_of(found, queries.kept(found), timezone.localdate())
    there = next((line for line in lines if line.key == row.key and not line.key.startswith("own/")), None)
    words = "Done, and noted."
    if there is not None:
        words += " It stays on the list until its own page says that it is done: open it there."
    messages.success(request, words)


@require_safe
def times(request: HttpRequest) -> HttpResponse:
    """How long kinds of job took, and what was learnt from it."""
    return render(request, "this_week/times.html", {"rows": assess.times_table(queries.own_times())})
