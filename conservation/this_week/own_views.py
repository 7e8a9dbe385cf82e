"""The keeper's own jobs."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from archive.access.views import keeper_of
from conservation.meanwhile import Opened
from conservation.this_week import actions, assess, queries
from conservation.this_week.forms import OwnForm


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    form = OwnForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        actions.save_own(keeper_of(request), None, form.cleaned_data)
        messages.success(request, "It is on the list.")
        return redirect("this_week:page")
    return render(request, "this_week/own.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, public_id: str) -> HttpResponse:
    """One of the keeper's own jobs: change it, or take it off the list."""
    own = queries.own_job(public_id)
    who = keeper_of(request)
    if request.POST.get("act") == "end":
        if own.ended_on is not None:
            raise Http404
        actions.end_own(who, own)
        messages.success(request, "It is off the list.")
        return redirect("this_week:page")
    form = OwnForm(request.POST or None, initial={name: getattr(own, name) for name in OwnForm.base_fields})
    opened = Opened(request, own)
    if request.method == "POST" and form.is_valid() and opened.is_still_so(form):
        actions.save_own(who, own, form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect("this_week:page")
    context = {
        "form": form, "own": own, "opened": opened, "code": queries.code_of(own.key),
        "repeats": assess.repeat_words(own),
    }  # fmt: skip
    return render(request, "this_week/own.html", context, status=422 if form.errors else 200)
