"""The page on which it is said what a room is like; the rooms themselves are led by their air, see readings."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from archive.access.merging import merge_typed
from archive.access.views import keeper_of
from archive.preferences.queries import preferences
from conservation.rooms import actions, queries
from conservation.rooms.forms import SIDES, FactsForm


@require_http_methods(["GET", "HEAD", "POST"])
def facts(request: HttpRequest, public_id: str) -> HttpResponse:
    """Say what a room is like."""
    who = keeper_of(request)
    found = queries.find_room(public_id, who)
    known = queries.facts_of(found)
    form = FactsForm(request.POST or None, kept=preferences(), initial=_initial(known))
    opened = request.POST.get("opened_version") or (known.version if known else 0)
    conflicts = []
    if request.method == "POST" and form.is_valid():
        values = form.cleaned_data
        if known is not None:
            labels = {name: str(field.label) for name, field in form.fields.items()}
            merged = merge_typed(known, values, labels, str(opened))
            values, conflicts, opened = merged.values, merged.conflicts, known.version
        if not conflicts:
            actions.say_what_it_is_like(who, found, values)
            messages.success(request, "Saved.")
            return redirect("rooms:room", found.public_id)
    status = 409 if conflicts else 422 if form.errors else 200
    context = {"room": found, "form": form, "opened": opened, "conflicts": conflicts}
    return render(request, "rooms/facts.html", context, status=status)


def _initial(known: object | None) -> dict[str, object]:
    names = ("floor", "outside_walls", "windows", "light", "heat", "water", "equipment", *SIDES, "note")
    return {name: getattr(known, name) for name in names} if known is not None else {}
