"""Pages of spots: what hangs where now, a spot, adding and changing one, readings."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.permissions import reader, role_of
from archive.access.views import keeper_of
from archive.preferences.queries import preferences
from archive.preferences.units import lengths
from conservation.meanwhile import Opened
from conservation.on_show.light import assess as light
from conservation.on_show.light import queries as light_queries
from conservation.on_show.models import Spot
from conservation.on_show.spots import actions, assess, queries
from conservation.on_show.spots.forms import QUESTIONS, SIDES, ReadingForm, SpotForm

# Question → how its drawings are called.
_DRAWN = {
    "window_direction": "spot-direction-", "window_distance": "spot-distance-", "curtain": "spot-curtain-",
    "sun_reaches": "spot-sun-", "lamp": "spot-lamp-", "glazing": "spot-glazing-",
}  # fmt: skip


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """The front page: every spot, what hangs there now, and whether it is time to change."""
    who = reader(request.user)
    may_write = role_of(request.user) == "keeper"
    watched = {each.showing.pk: each for each in light.watch(light_queries.now_on_show(who), timezone.localdate())}
    rows = [
        (row, assess.light_of_spot(row.spot, policy), [(each, watched.get(each.pk)) for each in row.now])
        for policy in [queries.policy()]
        for row in queries.spot_rows(who)
    ]
    return render(request, "on_show/page.html", {"rows": rows, "may_write": may_write})


@require_safe
def spot(request: HttpRequest, public_id: str) -> HttpResponse:
    """One spot: its light, what is near it, what is and was there."""
    who = reader(request.user)
    found = queries.find_spot(public_id, who)
    today = timezone.localdate()
    showings = queries.showings_at(found, who)
    here = [each for each in showings if each.came_down is None]
    at = assess.light_of_spot(found)
    context = {
        "spot": found,
        "room": queries.room_of(found, who),
        "size": lengths([getattr(found, name) for name in SIDES], inch=preferences().units == "inch"),
        "form_words": assess.words_of("spot_form", found.form),
        "light": at,
        "origin": assess.words_of("spot_origin", at.origin),
        "months": assess.months_of(at, today.year),
        "verdicts": assess.verdicts_of(found),
        "readings": assess.readings_of(found),
        "now": light.watch(light_queries.now_on_show(who, [each.thing_id for each in here]), today),
        "past": [each for each in showings if each.came_down is not None],
        "full": len(here) >= found.capacity,
        "classes": assess.classes_at(at),
        "may_write": role_of(request.user) == "keeper",
    }
    return render(request, "on_show/spot.html", context)


def _form_page(request: HttpRequest, template: str, form: SpotForm, status: int = 200, **context: Any) -> HttpResponse:
    questions = [(form[name], _DRAWN[name]) for name in QUESTIONS]
    sides = [form[name] for name in SIDES]
    context |= {"form": form, "questions": questions, "sides": sides}
    return render(request, template, context, status=status if not form.errors else 422)


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Record a place where things are shown."""
    who = keeper_of(request)
    form = SpotForm(request.POST or None, kept=preferences(), reader=who)
    if request.method == "POST" and form.is_valid():
        made = actions.save_spot(who, None, form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect(made)
    return _form_page(request, "on_show/add_spot.html", form)


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, public_id: str) -> HttpResponse:
    """Change what is said of a place."""
    who = keeper_of(request)
    found = queries.find_spot(public_id, who)
    names = list(SpotForm(kept=preferences(), reader=who).fields)
    theirs = {name: getattr(found, name) for name in names}
    form = SpotForm(request.POST or None, kept=preferences(), reader=who, initial=theirs)
    opened = Opened(request, found)
    if request.method == "POST" and form.is_valid() and opened.is_still_so(form):
        actions.save_spot(who, found, form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect(found)
    return _form_page(request, "on_show/edit_spot.html", form, spot=found, opened=opened)


@require_http_methods(["GET", "HEAD", "POST"])
def read(request: HttpRequest, public_id: str) -> HttpResponse:
    """Record how bright it is at a spot."""
    who = keeper_of(request)
    found = queries.find_spot(public_id, who)
    form = ReadingForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        actions.add_reading(who, found, form.cleaned_data)
        messages.success(request, "Saved. Another one at another time of day makes it surer.")
        return redirect(found)
    context = {"form": form, "spot": found, "caution": assess.phone_caution()}
    return render(request, "on_show/reading.html", context, status=422 if form.errors else 200)


@require_POST
def unread(request: HttpRequest, public_id: str, row_id: str) -> HttpResponse:
    """Take back a reading that was wrong."""
    who = keeper_of(request)
    found: Spot = queries.find_spot(public_id, who)
    actions.remove_reading(who, queries.reading_of(found, row_id))
    messages.success(request, "Taken back.")
    return redirect(found)
