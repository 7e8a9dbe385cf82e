"""Pages of sensors: one, a new one, and what is recorded of one."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from archive.access.merging import merge_typed
from archive.access.permissions import reader
from archive.access.views import keeper_of
from conservation.rooms.queries import find_room
from conservation.rooms.readings import actions, queries, where_queries
from conservation.rooms.readings.forms import ChangeSensorForm, SensorForm


@require_safe
def sensor(request: HttpRequest, public_id: str) -> HttpResponse:
    """One sensor: where it is, what it told, and from which files."""
    found = queries.find_sensor(public_id, reader(request.user))
    context = {
        "sensor": found,
        "air": queries.air_by(found),
        "imports": list(queries.imports_of(found)[:50]),
    }
    return render(request, "rooms/sensor.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def add_sensor(request: HttpRequest, public_id: str) -> HttpResponse:
    """Record a sensor in a room."""
    who = keeper_of(request)
    room = find_room(public_id, who)
    form = SensorForm(request.POST or None, places=where_queries.standing_places(room, who))
    if request.method == "POST" and form.is_valid():
        made = actions.add_sensor(who, room, form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect(made)
    return render(request, "rooms/add_sensor.html", {"form": form, "room": room}, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def change_sensor(request: HttpRequest, public_id: str) -> HttpResponse:
    """Change what is recorded of a sensor."""
    who = keeper_of(request)
    found = queries.find_sensor(public_id, who)
    initial = {name: getattr(found, name) for name in ChangeSensorForm.base_fields}
    initial["stands_in"] = found.stands_in.public_id if found.stands_in else ""
    places = where_queries.standing_places(found.room, who)
    form = ChangeSensorForm(request.POST or None, initial=initial, places=places)
    opened = request.POST.get("opened_version") or str(found.version)
    conflicts = []
    if request.method == "POST" and form.is_valid():
        labels = {name: str(field.label) for name, field in form.fields.items()}
        merged = merge_typed(found, form.cleaned_data, labels, opened)
        conflicts, opened = merged.conflicts, str(found.version)
        if not conflicts:
            actions.change_sensor(who, found, merged.values)
            messages.success(request, "Saved.")
            return redirect(found)
    status = 409 if conflicts else 422 if form.errors else 200
    context = {"form": form, "sensor": found, "opened": opened, "conflicts": conflicts}
    return render(request, "rooms/change_sensor.html", context, status=status)
