"""Pages of spots: what hangs where now, a spot, adding and changing one."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from archive.access.permissions import reader, role_of
from conservation.on_show.spots import queries


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """The front page: every spot and what hangs there now."""
    who = reader(request.user)
    rows = queries.spot_rows(who)
    context = {"rows": rows, "may_write": role_of(request.user) == "keeper"}
    return render(request, "on_show/page.html", context)


@require_safe
def spot(request: HttpRequest, public_id: str) -> HttpResponse:
    """One spot: its light, what is and was there."""
    who = reader(request.user)
    found = queries.find_spot(public_id, who)
    context = {
        "spot": found,
        "showings": queries.showings_at(found, who),
        "may_write": role_of(request.user) == "keeper",
    }
    return render(request, "on_show/spot.html", context)
