"""Pages of the storage tree."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from archive.access.permissions import reader
from archive.boxes import queries


@require_safe
def suggest(request: HttpRequest) -> HttpResponse:
    """Offer boxes while a number or name is being typed; the first value counts, whatever the field's name."""
    typed = str(next(iter(request.GET.values()), ""))
    found = queries.suggestions(typed[:300], reader(request.user))
    return render(request, "boxes/_suggestions.html", {"boxes": found})
