"""Pages of people."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from archive.access.permissions import reader
from archive.people import queries


@require_safe
def suggest(request: HttpRequest) -> HttpResponse:
    """Offer people while a name is being typed; the field's own name says nothing, so the first value counts."""
    typed = str(next(iter(request.GET.values()), ""))
    found = queries.suggestions(typed[:300], reader(request.user))
    return render(request, "people/_suggestions.html", {"people": found})
