"""Pages of housing: what needs it, a sheet for the work table, a card for carrying, decisions, boxes as wholes."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.permissions import reader
from archive.access.views import keeper_of
from archive.boxes.models import Box
from archive.preferences.queries import preferences
from archive.things.queries import find_thing
from conservation.housing import actions, assess, assess_whole, queries
from conservation.housing.forms import DecisionForm, PlaceForm
from conservation.meanwhile import Opened

PER_PAGE = 48


@require_safe
def needs(request: HttpRequest) -> HttpResponse:
    """What needs housing, the most pressing first."""
    things = queries.ranked_needs(
        reader(request.user), assess_whole.vulnerability(), assess_whole.need_figures()
    ).select_related("box")
    page = Paginator(things, PER_PAGE).get_page(request.GET.get("page", "1"))
    things = list(page.object_list)
    flags = assess.flags_of(things, {})
    rows = [(thing, assess_whole.need_in_words(thing), flags.get(thing.pk, [])) for thing in things]
    return render(request, "housing/needs.html", {"page": page, "rows": rows})


def _thing_page(request: HttpRequest, template: str, public_id: str) -> HttpResponse:
    who = reader(request.user)
    thing = find_thing(public_id, who)
    advice = assess.advise(thing, preferences().units, queries.air_where(thing))
    context = {
        "thing": thing,
        "advice": advice,
        "carrying": assess_whole.carry(thing, advice),
        "decision": queries.decision_on(thing),
        "picture": thing.pictures.first(),
        "today": timezone.localdate(),
    }
    return render(request, template, context)


@require_safe
def sheet(request: HttpRequest, public_id: str) -> HttpResponse:
    """One page for the work table, to print."""
    return _thing_page(request, "housing/sheet.html", public_id)


@require_safe
def card(request: HttpRequest, public_id: str) -> HttpResponse:
    """One card for whoever carries the thing, to print."""
    return _thing_page(request, "housing/card.html", public_id)


@require_http_methods(["GET", "HEAD", "POST"])
def decide(request: HttpRequest, public_id: str) -> HttpResponse:
    who = keeper_of(request)
    thing = find_thing(public_id, who)
    advice = assess.advise(thing, preferences().units, queries.air_where(thing))
    best = advice.answer["enclosures"][0] if advice.answer["enclosures"] else {}
    initial = {"form": best.get("form"), "material": best.get("material")}
    form = DecisionForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        actions.decide(who, thing, form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect(thing)
    context = {"form": form, "thing": thing, "advice": advice, "before": queries.decisions_on(thing)}
    return render(request, "housing/decide.html", context, status=422 if form.errors else 200)


@require_POST
def done(request: HttpRequest, public_id: str) -> HttpResponse:
    """Mark the decision that holds as carried out today."""
    who = keeper_of(request)
    thing = find_thing(public_id, who)
    decision = queries.decision_on(thing)
    if decision is None:
        raise Http404
    if decision.done_on is None:
        actions.mark_done(who, decision, timezone.localdate())
    messages.success(request, "Noted as done today.")
    return redirect(thing)


def _find(model: Any, public_id: str, request: HttpRequest) -> Any:
    found = model.objects.visible_to(reader(request.user)).filter(public_id=public_id).first()
    if found is None:
        raise Http404
    return found


@require_http_methods(["GET", "HEAD", "POST"])
def place(request: HttpRequest, public_id: str) -> HttpResponse:
    who = keeper_of(request)
    box: Box = _find(Box, public_id, request)
    said = queries.place_of(box)
    initial = {"furniture": said.furniture, "location": said.location} if said else {}
    form = PlaceForm(request.POST or None, initial=initial)
    opened = Opened(request, said)
    if request.method == "POST" and form.is_valid() and opened.is_still_so(form):
        actions.say_where_it_stands(who, box, form.cleaned_data["furniture"], form.cleaned_data["location"])
        messages.success(request, "Saved.")
        return redirect(box)
    context = {"form": form, "box": box, "opened": opened}
    return render(request, "housing/place.html", context, status=422 if form.errors else 200)
