"""Changing many things at once: choose them, say what becomes of them, look, apply."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from archive.access.models import Account
from archive.access.views import keeper_of
from archive.entry import queries, selection
from archive.entry.batch import AT_MOST, outlook
from archive.entry.batch_actions import change_things
from archive.entry.batch_forms import BatchForm
from archive.entry.views import offered
from archive.kinds import states
from archive.preferences.queries import preferences


@require_http_methods(["GET", "HEAD", "POST"])
def batch(request: HttpRequest) -> HttpResponse:
    """The steps are one page: the chosen things travel in the form from step to step."""
    who = keeper_of(request)
    found = selection.Found.of(request.GET, who)
    if request.method != "POST":
        chosen = selection.known(request.GET.getlist("thing"), who)
        return _choose(request, found, chosen, request.GET.get("page", "1"))
    chosen = _chosen(request, found, who)
    step, _, number = request.POST.get("do", "").partition(":")
    if step == "page":
        return _choose(request, found, chosen, number)
    if not chosen or len(chosen) > AT_MOST:
        trouble = f"At most {AT_MOST:,} at once; these are {len(chosen):,}." if chosen else "Tick at least one thing."
        return _choose(request, found, [] if len(chosen) > AT_MOST else chosen, "1", trouble)
    if step not in ("preview", "apply", "fields"):
        return _fields(request, found, chosen, BatchForm(reader=who))
    form = BatchForm(request.POST, reader=who)
    if step == "fields" or not form.is_valid():
        return _fields(request, found, chosen, form)
    things = selection.things(chosen, who)
    wishes = form.wishes()
    if step == "apply":
        return redirect("entry:done", change_things(who, things, wishes, preferences()).public_id)
    rows = outlook(wishes, things)
    context = {
        "found": found,
        "chosen": chosen,
        "rows": rows,
        "changes": max(row.changes for row in rows),
        "fields": [
            (name, value)
            for name, values in request.POST.lists()
            for value in values
            if name in form.fields and value.strip()
        ],
    }
    return render(request, "entry/batch_look.html", context)


def _chosen(request: HttpRequest, found: selection.Found, who: Account) -> list[str]:
    """Return the ids of what is chosen: from pages before, and as ticked on this one."""
    do = request.POST.get("do", "")
    if do == "all":
        return found.ids(AT_MOST + 1)
    shown = request.POST.get("shown", "").split()
    ticked = shown if do == "all_here" else request.POST.getlist("thing")
    before = request.POST.get("chosen", "").split()
    left = [each for each in before if each not in set(shown)]
    return selection.known([*left, *ticked], who)


def _choose(
    request: HttpRequest, found: selection.Found, chosen: list[str], number: str, trouble: str = ""
) -> HttpResponse:
    page = found.page(number)
    shown = [thing.public_id for thing in page.object_list]
    context = {
        "found": found,
        "page": page,
        "chosen": chosen,
        "ticked": set(chosen),
        "elsewhere": len(set(chosen) - set(shown)),
        "shown": shown,
        "trouble": trouble,
        "at_most": AT_MOST,
    }
    return render(request, "entry/batch_choose.html", context, status=422 if trouble else 200)


def _fields(request: HttpRequest, found: selection.Found, chosen: list[str], form: BatchForm) -> HttpResponse:
    who = keeper_of(request)
    wrong = form.is_bound and not form.is_valid() and request.POST.get("do") != "fields"
    context: dict[str, Any] = {
        "found": found,
        "form": form,
        "chosen": chosen,
        "states": [each for each in states() if each.code != "sound"],
        "groups": queries.groups_offered(who),
        **offered(who),
    }
    return render(request, "entry/batch_fields.html", context, status=422 if wrong else 200)
