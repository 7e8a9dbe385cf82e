"""Pages of the cold: the places, the procedure step by step, what may go in, what is out and warming up."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.permissions import reader
from archive.access.views import keeper_of
from archive.boxes.models import Box
from archive.boxes.queries import find_box
from archive.preferences.queries import preferences
from archive.things.models import Thing
from archive.things.queries import find_thing
from conservation.meanwhile import Opened
from conservation.rooms.cold import actions, assess, queries
from conservation.rooms.cold.forms import ColdForm, OutForm
from conservation.rooms.cold.models import ColdPlace


@require_safe
def cold(request: HttpRequest) -> HttpResponse:
    """All cold places, and what is out of them."""
    who, kept, now = reader(request.user), preferences(), timezone.now()
    context = {
        "places": [(each, assess.judge(each, kept)) for each in queries.cold_places(who)],
        "out": [assess.trip_in_words(each, now, kept) for each in queries.out_now(who)],
        "power": assess.power(),
        "today": timezone.localdate(),
    }
    return render(request, "rooms/cold/places.html", context)


@require_safe
def how(request: HttpRequest) -> HttpResponse:
    """The procedure: what may go in, what never, packing, taking out, when the power fails."""
    context = {
        "groups": assess.groups(),
        "waits": assess.waits(),
        "warm_ups": assess.warm_ups(),
        "warm_up_reasons": assess.warm_up_reasons(),
        "power": assess.power(),
        "packing": assess.packing_reason(),
        "places": queries.cold_places(reader(request.user)),
    }
    return render(request, "rooms/cold/how.html", context)


@require_safe
def place(request: HttpRequest, public_id: str) -> HttpResponse:
    """One cold place: how it is, what is in it, what was taken out."""
    who, kept, now = reader(request.user), preferences(), timezone.now()
    found = queries.find_place(public_id, who)
    out = queries.out_now(who)
    away, boxes_away = {each.thing_id for each in out if each.thing_id}, {each.box_id for each in out if each.box_id}
    rows = [(thing, assess.may_live_cold(thing)) for thing in queries.things_in(found, who)]
    wrong = [(thing, may) for thing, may in rows if not (may.frozen if found.appliance == "freezer" else may.chilled)]
    context = {
        "place": found,
        "words": assess.judge(found, kept),
        "wrong": wrong,
        "rows": [(thing, may, thing.pk in away or thing.box_id in boxes_away) for thing, may in rows],
        "boxes": queries.boxes_in(found, who),
        "out": [assess.trip_in_words(each, now, kept) for each in out if each.place_id == found.box_id],
        "log": [
            assess.trip_in_words(each, now, kept) for each in queries.trips_of(found, who) if each.back_at is not None
        ],
        "today": timezone.localdate(),
    }
    return render(request, "rooms/cold/place.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Record a refrigerator or freezer that is not in the storage tree yet."""
    who, kept = keeper_of(request), preferences()
    form = ColdForm(request.POST or None, kept=kept, reader=who, is_new=True)
    if request.method == "POST" and form.is_valid():
        values = dict(form.cleaned_data)
        made = actions.add_cold_place(who, values.pop("title"), values.pop("inside"), values)
        messages.success(request, "Saved.")
        return redirect("rooms:cold_place", made.box.public_id)
    return render(request, "rooms/cold/say.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def say(request: HttpRequest, public_id: str) -> HttpResponse:
    """Say that a node of the storage tree is a cold place, or how it is now."""
    who, kept = keeper_of(request), preferences()
    box = find_box(public_id, who)
    known = queries.place_of(box)
    form = ColdForm(request.POST or None, kept=kept, reader=who, is_new=False, initial=_initial(known))
    opened = Opened(request, known)
    if request.method == "POST" and form.is_valid() and opened.is_still_so(form):
        actions.say_it_is_cold(who, box, form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect("rooms:cold_place", box.public_id)
    context = {"form": form, "box": box, "known": known, "opened": opened}
    return render(request, "rooms/cold/say.html", context, status=422 if form.errors else 200)


def _initial(known: ColdPlace | None) -> dict[str, Any]:
    if known is None:
        return {}
    names = ("appliance", "no_food", "temperature_c", "measured_on", "card_pct", "note")
    frost = {True: "yes", False: "no", None: ""}[known.frost_free]
    return {**{name: getattr(known, name) for name in names}, "frost_free": frost}


@require_POST
def not_cold(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take back that a node is a cold place; what is in it stays."""
    who = keeper_of(request)
    found = queries.find_place(public_id, who)
    box = found.box
    actions.no_longer_cold(who, found)
    messages.success(request, "It is no cold place any more. What is in it stays recorded there.")
    return redirect(box)


@require_http_methods(["GET", "HEAD", "POST"])
def out(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take a package out: the page then says when it may be opened."""
    who = keeper_of(request)
    found = queries.find_place(public_id, who)
    records: dict[str, Box | Thing] = {f"box {each.public_id}": each for each in queries.boxes_in(found, who)}
    records |= {f"thing {each.public_id}": each for each in queries.things_in(found, who)}
    asked = request.GET.get("what", "")
    initial: dict[str, Any] = {"what": asked}
    if asked in records:
        pieces = getattr(records[asked], "count", 1)
        initial["package"] = assess.package_of(pieces, isinstance(records[asked], Box))
    choices = [(key, str(each)) for key, each in records.items()]
    form = OutForm(request.POST or None, what=choices, initial=initial)
    if request.method == "POST" and form.is_valid():
        values = dict(form.cleaned_data)
        what = records[values.pop("what")]
        values["opens_at"] = assess.opens_at(values["out_at"], values["package"])
        try:
            trip = actions.take_out(who, found, what, values)
        except actions.OutAlready:
            form.add_error("what", "It is out already, and not noted as back.")
        else:
            return redirect("rooms:cold_trip", trip.public_id)
    context = {"form": form, "place": found, "warm_ups": assess.warm_ups(), "nothing": not records}
    return render(request, "rooms/cold/out.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def trip(request: HttpRequest, trip_id: str) -> HttpResponse:
    """One package that is out: when it may be opened, and noting that it was, or that it is back."""
    who, kept = keeper_of(request), preferences()
    found = queries.find_trip(trip_id, who)
    if request.method == "POST":
        try:
            if request.POST.get("what") == "opened":
                actions.note_opened(who, found, timezone.now())
                messages.success(request, "Noted as opened now.")
            else:
                actions.note_back(who, found, timezone.now())
                messages.success(request, "Noted as back in the cold.")
        except actions.NotOut:
            messages.warning(request, "It is back in the cold already. Nothing was changed.")
        return redirect("rooms:cold_trip", found.public_id)
    context = {
        "words": assess.trip_in_words(found, timezone.now(), kept),
        "what": found.thing or found.box,
        "warm_up": next(each for each in assess.warm_ups() if each.package == assess.package_words(found.package)),
        "reasons": assess.warm_up_reasons(),
    }
    return render(request, "rooms/cold/trip.html", context)


@require_safe
def thing(request: HttpRequest, public_id: str) -> HttpResponse:
    """Whether one thing may live in the cold, why, and where."""
    who, kept = reader(request.user), preferences()
    found = find_thing(public_id, who)
    may = assess.may_live_cold(found)
    places = [
        (each, assess.judge(each, kept))
        for each in queries.cold_places(who)
        if (may.frozen if each.appliance == "freezer" else may.chilled)
    ]
    context = {
        "thing": found,
        "may": may,
        "places": places,
        "around": queries.around(found.box_id, who),
    }
    return render(request, "rooms/cold/thing.html", context)
