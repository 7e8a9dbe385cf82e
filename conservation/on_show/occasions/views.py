"""Pages of the days that matter: the year's list, the keeper's own days, what they make of the catalogue's days."""

from __future__ import annotations

from itertools import groupby

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from archive.access.permissions import reader
from archive.access.views import keeper_of
from conservation.meanwhile import Opened
from conservation.on_show.occasions import actions, assess, queries
from conservation.on_show.occasions.forms import ChoiceForm, OwnForm


def _year(request: HttpRequest) -> int:
    typed = request.GET.get("year", "")
    year = int(typed) if typed.isdecimal() and len(typed) == 4 else timezone.localdate().year
    return year if 1500 <= year <= 2999 else timezone.localdate().year


@require_safe
def days(request: HttpRequest) -> HttpResponse:
    """The days of a year, as a list and drawn."""
    who, year = reader(request.user), _year(request)
    found = assess.occasions_between(who, *assess.year_of(year))
    with_things = [each for each in found if each.things or each.is_own]
    bare = [each for each in found if not each.things and not each.is_own]
    context = {
        "year": year,
        "today": timezone.localdate(),
        "months": [(month, list(rows)) for month, rows in groupby(with_things, key=lambda each: f"{each.day:%B}")],
        "bare": bare[:60],
        "bare_more": max(0, len(bare) - 60),
        "marks": assess.strip(with_things, year),
        "month_marks": assess.months(year),
        "without": assess.without_a_day(who, year),
        "reasons": assess.reasons(),
        "count": len(with_things),
        "most": assess.MOST if len(with_things) >= assess.MOST else None,
    }
    return render(request, "on_show/occasions/days.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Add a day."""
    who = keeper_of(request)
    initial = {"title": request.GET.get("title", "")[:300]}
    form = OwnForm(request.POST or None, reader=who, initial=initial if initial["title"] else None)
    if request.method == "POST" and form.is_valid():
        actions.add_own(who, form.values(), form.things())
        messages.success(request, "Saved.")
        return redirect("on_show:occasions")
    context = {"form": form, "heading": "Add a day"}
    return render(request, "on_show/occasions/own.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, public_id: str) -> HttpResponse:
    """Change a day that the keeper added."""
    who = keeper_of(request)
    occasion = queries.find_own(public_id, who)
    things = queries.things_for(occasion, who)
    names = ("title", "day", "yearly", "weight", "note", "access")
    initial = {name: getattr(occasion, name) for name in names}
    form = OwnForm(request.POST or None, reader=who, things=things, initial=initial)
    opened = Opened(request, occasion)
    if request.method == "POST" and form.is_valid() and opened.is_still_so(form):
        actions.change_own(who, occasion, form.values(), form.things())
        messages.success(request, "Saved.")
        return redirect("on_show:occasions")
    context = {"form": form, "heading": f"Change “{occasion.title}”", "occasion": occasion, "opened": opened}
    return render(request, "on_show/occasions/own.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def choose(request: HttpRequest, sort: str, record: str) -> HttpResponse:
    """Say whether a day of the catalogue counts, and how much."""
    who, year, key = keeper_of(request), _year(request), f"{sort}:{record}"
    occasion = assess.find(key, who, year) if assess.known_sort(sort) else None
    if occasion is None:
        raise Http404
    choice = queries.choices().get(key)
    initial = {"counts": choice is None or choice.counts, "weight": choice.weight if choice else None}
    form = ChoiceForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        actions.choose(who, key, form.cleaned_data["counts"], form.cleaned_data["weight"])
        messages.success(request, "Saved.")
        return redirect(f"{reverse('on_show:occasions')}?year={year}")
    context = {"form": form, "occasion": occasion, "reasons": assess.reasons(), "year": year}
    return render(request, "on_show/occasions/choose.html", context, status=422 if form.errors else 200)
