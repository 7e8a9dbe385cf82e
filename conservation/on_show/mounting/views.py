"""The page of how a thing is shown, to read and to print."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from archive.access.permissions import reader
from archive.preferences.queries import preferences
from archive.things.queries import find_thing
from conservation.on_show.mounting import assess
from conservation.on_show.spots.assess import limits_of_thing


@require_safe
def how(request: HttpRequest, public_id: str) -> HttpResponse:
    """How one thing is shown: mount, support, frame, what must not touch, rules of the room."""
    thing = find_thing(public_id, reader(request.user))
    context = {
        "thing": thing,
        "how": assess.how_to_show(thing, preferences().units),
        "limits": limits_of_thing(thing),
        "picture": thing.pictures.first(),
        "today": timezone.localdate(),
    }
    return render(request, "on_show/how.html", context)
