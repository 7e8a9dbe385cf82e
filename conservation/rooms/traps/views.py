"""Pages of insect traps: all of them, a room's plan, one trap and its counts."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.views import keeper_of
from archive.boxes.models import Box
from conservation.rooms.queries import find_room, rooms_of
from conservation.rooms.traps import actions, assess, queries
from conservation.rooms.traps.forms import CountForm, TrapForm
from conservation.rooms.traps.models import Trap


@require_safe
def traps(request: HttpRequest) -> HttpResponse:
    """All traps, room by room, with what they caught and what is due."""
    who = keeper_of(request)
    laid = [assess.show(each) for each in queries.traps_laid()]
    rows = [(room, list(each)) for room, each in groupby(laid, key=lambda shown: shown.trap.room)]
    there = {room.pk for room, _ in rows}
    context = {
        "rows": rows, "without": [room for room in rooms_of(who) if room.pk not in there],
        "placing": assess.placing(), "groups": assess.groups(), "why": assess.threshold_why(),
        "today": timezone.localdate(),
    }  # fmt: skip
    return render(request, "rooms/traps/list.html", context)


@require_safe
def room_traps(request: HttpRequest, public_id: str) -> HttpResponse:
    """The plan of a room with its traps, and what they caught."""
    room = find_room(public_id, keeper_of(request))
    laid = queries.traps_in(room)
    context = {
        "room": room, "plan": assess.plan(room, laid), "sums": assess.sums(laid), "groups": assess.groups(),
        "why": assess.threshold_why(), "placing": assess.placing(), "today": timezone.localdate(),
    }  # fmt: skip
    return render(request, "rooms/traps/room.html", context)


@require_safe
def plan(request: HttpRequest, public_id: str) -> HttpResponse:
    """The plan as a picture, to tap on; ``?at=across-along`` draws a chosen place, ``?but=`` leaves a trap out."""
    room = find_room(public_id, keeper_of(request))
    laid = [each for each in queries.traps_in(room) if each.public_id != request.GET.get("but")]
    drawn = assess.plan(room, laid, _chosen(request.GET.get("at", "")))
    return render(
        request, "rooms/traps/plan_file.svg", {"plan": drawn, "room": room}, content_type="image/svg+xml; charset=utf-8"
    )


def _chosen(text: str) -> tuple[int, int] | None:
    across, _, along = text.partition("-")
    if not (across.isdecimal() and along.isdecimal() and len(text) < 10):
        return None
    return min(int(across), 1000), min(int(along), 1000)


def _tap(request: HttpRequest, height: int) -> dict[str, str] | None:
    """Return what a tap on the plan changes in the form, in percent; None where a button was pressed.

    A tap at 0, 0 is what a browser sends for the Enter key.
    """
    try:
        x, y = int(request.POST["tap.x"]), int(request.POST["tap.y"])
    except (KeyError, ValueError):
        return None
    if (x, y) == (0, 0):
        return None
    across, along = assess.tapped(x, y, height)
    return {"across": str(round(across / 10)), "along": str(round(along / 10))}


def _place_page(request: HttpRequest, room: Box, form: TrapForm, trap: Trap | None) -> HttpResponse:
    try:
        at = (int(str(form["across"].value())) * 10, int(str(form["along"].value())) * 10)
    except ValueError:
        at = None
    drawn = assess.plan(room, [])
    context: dict[str, Any] = {
        "room": room, "form": form, "trap": trap, "plan": drawn, "placing": assess.placing(),
        "at": f"{min(max(at[0], 0), 1000)}-{min(max(at[1], 0), 1000)}" if at else "",
    }  # fmt: skip
    return render(request, "rooms/traps/place.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def add_trap(request: HttpRequest, public_id: str) -> HttpResponse:
    """Lay a trap: tap its place on the plan, or type it."""
    who = keeper_of(request)
    room = find_room(public_id, who)
    form = TrapForm(request.POST or None)
    tap = _tap(request, assess.plan(room, []).height)
    if request.method == "POST" and tap is None and form.is_valid():
        made = actions.lay(who, room, form.cleaned_data)
        messages.success(request, f"Saved as trap {made.label}. Write {made.label} and today’s date on it.")
        return redirect("rooms:room_traps", room.public_id)
    if tap is not None:
        form = TrapForm(initial={**_typed(form), **tap})
    return _place_page(request, room, form, None)


def _typed(form: TrapForm) -> dict[str, Any]:
    """Return what was typed, so that a tap loses nothing."""
    return {name: form[name].value() for name in form.fields}


@require_http_methods(["GET", "HEAD", "POST"])
def move_trap(request: HttpRequest, trap_id: str) -> HttpResponse:
    """Say that a trap lies elsewhere in its room."""
    who = keeper_of(request)
    found = queries.find_trap(trap_id)
    stands = {"across": found.across // 10, "along": found.along // 10, "where": found.where, "lure": found.lure}
    form = TrapForm(request.POST or None, moving=True, initial=stands)
    tap = _tap(request, assess.plan(found.room, []).height)
    if request.method == "POST" and tap is None and form.is_valid():
        actions.move(who, found, form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect(found)
    if tap is not None:
        form = TrapForm(moving=True, initial={**_typed(form), **tap})
    return _place_page(request, found.room, form, found)


@require_http_methods(["GET", "HEAD", "POST"])
def trap(request: HttpRequest, trap_id: str) -> HttpResponse:
    """One trap: count it, and what it caught so far."""
    who = keeper_of(request)
    found = queries.find_trap(trap_id)
    groups = assess.groups()
    form = CountForm(request.POST or None, trap=found, groups=[(each.code, each.name) for each in groups])
    if request.method == "POST" and form.is_valid():
        actions.count(who, found, form.values())
        messages.success(request, "Saved.")
        return redirect(found)
    context = {
        "trap": found, "shown": assess.show(found), "form": form, "chart": assess.chart(found),
        "fields": [(each, form[each.code]) for each in groups], "counts": list(found.counts.all())[::-1],
        "groups": groups, "why": assess.threshold_why(), "today": timezone.localdate(),
    }  # fmt: skip
    return render(request, "rooms/traps/trap.html", context, status=422 if form.errors else 200)


@require_POST
def take_trap(request: HttpRequest, trap_id: str) -> HttpResponse:
    """Take a trap away."""
    who = keeper_of(request)
    found = queries.find_trap(trap_id)
    if found.taken_on is None:
        actions.take_away(who, found, timezone.localdate())
    messages.success(request, f"Trap {found.label} is taken away. Its counts are kept.")
    return redirect("rooms:room_traps", found.room.public_id)
