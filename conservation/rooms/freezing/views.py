"""Pages of treating by cold: all bags, packing one, and its log."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.views import keeper_of
from archive.preferences.queries import preferences
from conservation.rooms.freezing import actions, assess, queries
from conservation.rooms.freezing.forms import FreezingForm, ReadingForm, StopForm, TimeForm
from conservation.rooms.freezing.models import Freezing
from conservation.rooms.rounds.queries import find_finding


def _inch() -> bool:
    return preferences().units == "inch"


def _advice() -> dict[str, Any]:
    return {
        "ways": assess.ways_to_treat(), "procedure": assess.procedure(), "disagreements": assess.disagreements(),
        "warmest": assess.warmest(_inch()),
    }  # fmt: skip


@require_safe
def freezings(request: HttpRequest) -> HttpResponse:
    """All bags: those under way, those that are over, and how it is done."""
    keeper_of(request)
    page = Paginator(queries.over(), queries.PER_PAGE).get_page(request.GET.get("page", "1"))
    context = {
        "under_way": [assess.look_at(each) for each in queries.under_way()],
        "over": [assess.look_at(each) for each in page.object_list], "page": page, **_advice(),
    }  # fmt: skip
    return render(request, "rooms/freezing/list.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def add_freezing(request: HttpRequest) -> HttpResponse:
    """Pack a bag: which things, and whether they may be frozen at all."""
    who = keeper_of(request)
    asked = request.POST.get("finding") or request.GET.get("finding") or ""
    finding = find_finding(asked) if asked else None
    initial: dict[str, Any] = {"things": request.GET.get("things", "")}
    if finding is not None:
        initial |= {"box": finding.box or finding.room}
        initial["things"] = " ".join(each.thing.number for each in finding.things.all())
    form = FreezingForm(request.POST or None, reader=who, initial=initial)
    if request.method == "POST" and form.is_valid():
        made = actions.add_freezing(who, {**form.values(), "finding": finding}, form.packed())
        messages.success(request, "Saved. Now pack it as the steps say; tell it here when it goes into the freezer.")
        return redirect(made)
    context = {"form": form, "finding": finding, "refused": form.refused, **_advice()}
    return render(request, "rooms/freezing/add.html", context, status=422 if form.errors else 200)


@require_safe
def freezing(request: HttpRequest, freezing_id: str) -> HttpResponse:
    """The log of one bag."""
    keeper_of(request)
    return _page(request, queries.find_freezing(freezing_id), "", None)


def _page(request: HttpRequest, found: Freezing, step_: str, form: forms.Form | None) -> HttpResponse:
    """Draw the log with the form of the step that comes next; ``form`` is one that was not in order."""
    inch = _inch()
    bag = assess.look_at(found)
    ready: dict[str, forms.Form] = {
        "read": ReadingForm(inch=inch), "in": TimeForm(auto_id="in_%s"), "out": TimeForm(auto_id="out_%s"),
        "opened": TimeForm(auto_id="opened_%s"), "stop": StopForm(),
    }  # fmt: skip
    if form is not None:
        ready[step_] = form
    readings = [(each, assess.degrees(each.celsius, inch)) for each in found.readings.all()]
    context = {
        "bag": bag, "freezing": found, "forms": ready, "form": form, "readings": readings[::-1],
        "charts": assess.charts(found, inch), "now": timezone.now(), **_advice(),
    }  # fmt: skip
    return render(request, "rooms/freezing/page.html", context, status=422 if form is not None else 200)


_SAID = {
    "read": "Saved.",
    "in": "Saved. Read the thermometer inside the bag in four hours, and then every day.",
    "out": "Saved. Leave the bag shut for 24 to 48 hours.",
    "opened": "Saved. Now look at the place it came from before it goes back.",
    "recheck": "Saved. The treatment is over.",
    "stop": "Stopped.",
}


@require_POST
def step(request: HttpRequest, freezing_id: str) -> HttpResponse:
    """Take one step of a treatment: a reading, in, out, opened, the place looked at again, or stopped."""
    who = keeper_of(request)
    found = queries.find_freezing(freezing_id)
    which = request.POST.get("step", "")
    if which not in _SAID:
        raise Http404
    if which == "recheck":
        actions.recheck(who, found, timezone.localdate())
        messages.success(request, _SAID[which])
        return redirect(found)
    form: Any = ReadingForm(request.POST, inch=_inch()) if which == "read" else (
        StopForm(request.POST) if which == "stop" else TimeForm(request.POST, auto_id=f"{which}_%s")
    )  # fmt: skip
    if form.is_valid():
        try:
            _act(who, found, which, form.cleaned_data)
        except actions.NotNow as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _SAID[which])
            return redirect(found)
    return _page(request, found, which, form)


def _act(who: Any, found: Freezing, which: str, values: dict[str, Any]) -> None:
    if which == "read":
        actions.read(who, found, values["at"], values["celsius"])
    elif which == "in":
        actions.put_in(who, found, values["at"])
    elif which == "out":
        actions.take_out(who, found, values["at"])
    elif which == "opened":
        actions.open_bag(who, found, values["at"])
    else:
        actions.stop(who, found, values["why"])
