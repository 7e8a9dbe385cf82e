"""The page with the list of things."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from archive.access.permissions import reader
from archive.things import queries
from archive.things.filters import ThingFilter
from archive.things.views import goal_of, number_trouble


@require_safe
def thing_list(request: HttpRequest) -> HttpResponse:
    """Things, the latest first, filtered by what the address says; a number of ours leads to its thing."""
    who = reader(request.user)
    chosen = ThingFilter(request.GET, who)
    typed = chosen.values["q"]
    number = chosen.question.number
    if request.GET.get("number", "").strip() or number is not None:
        if (goal := goal_of(typed, who)) is not None:
            return redirect(goal)
        messages.warning(request, number_trouble(typed, who))
        chosen = ThingFilter({**request.GET.dict(), "q": "", "number": ""}, who)
    page, rows = queries.list_page(who, request.GET.get("page", "1"), chosen)
    context = {
        "page": page,
        "rows": rows,
        "chosen": chosen,
        "form": chosen.form,
        "typed": typed,
        "standings": queries.not_kept(who) if chosen.is_empty else [],
    }
    return render(request, "things/list.html", context)
