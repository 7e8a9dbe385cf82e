"""Pages of the waiting shelf and of standings."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.permissions import reader, role_of
from archive.access.undo import NotAllowed
from archive.access.views import keeper_of
from archive.sorting import actions, lot_queries, shelf_queries
from archive.sorting.forms import QuestionForm, StandingForm
from archive.sorting.group_forms import AddThingsForm
from archive.sorting.texts import cautions_for
from archive.things.models import Thing
from archive.things.queries import find_thing


@require_safe
def waiting(request: HttpRequest) -> HttpResponse:
    page, rows = shelf_queries.shelf_page(reader(request.user), request.GET.get("page", "1"))
    context = {"page": page, "rows": rows, "may_write": role_of(request.user) == "keeper"}
    return render(request, "sorting/waiting.html", context)


@require_POST
def question(request: HttpRequest, thing_id: str) -> HttpResponse:
    """Change the open question of a thing, or answer it; what somebody else asked meanwhile is not overwritten."""
    who = keeper_of(request)
    thing = find_thing(thing_id, who)
    form = QuestionForm(request.POST)
    trouble = ""
    if form.is_valid():
        asked, answer = form.cleaned_data["question"].strip(), form.cleaned_data["answer"].strip()
        if form.cleaned_data["opened_question"].strip() != thing.open_question.strip():
            trouble = "Somebody changed this question meanwhile. It reads now as below; nothing of yours was saved."
        elif answer:
            try:
                actions.answer(who, thing, answer, asked)
            except ValueError as error:
                trouble = str(error)
        else:
            actions.ask(who, thing, asked)
    else:
        trouble = "A question has at most 300 signs, an answer at most 2,000."
    if trouble:
        context = {"thing": thing, "form": form, "trouble": trouble}
        return render(request, "sorting/question.html", context, status=409)
    messages.success(request, f"Saved for {thing.number}.")
    return redirect("sorting:waiting")


@require_http_methods(["GET", "HEAD", "POST"])
def standing(request: HttpRequest, thing_id: str = "") -> HttpResponse:
    """Say what becomes of one thing or several, always with a reason.

    The address names one thing, ``?thing=`` names some, or their typed numbers do.
    """
    who = keeper_of(request)
    sent = request.POST if request.method == "POST" else request.GET
    named = [find_thing(thing_id, who).public_id] if thing_id else []
    things = shelf_queries.chosen([*named, *sent.getlist("thing")], who)
    adding = AddThingsForm(sent if "numbers" in sent else None)
    if "numbers" in sent and adding.is_valid():
        read = lot_queries.read_numbers(adding.cleaned_data["numbers"], who, boxes=False)
        for trouble in read.troubles:
            adding.add_error("numbers", trouble)
        things = sorted({*things, *read.found}, key=lambda thing: thing.serial_id)
    cautions = cautions_for(code for thing in things for code in (thing.kind_code, *thing.parts))
    acting = request.method == "POST" and bool(things) and not adding.errors
    form = StandingForm(request.POST if acting else None, cautions=bool(cautions), initial=_initial(things))
    if acting and form.is_valid():
        try:
            actions.set_standing(who, things, form.cleaned_data)
        except NotAllowed as error:
            form.add_error(None, error.sentence)
        else:
            messages.success(request, "Saved." if len(things) == 1 else f"Saved for {len(things)} things.")
            return redirect(things[0]) if len(things) == 1 else redirect("sorting:waiting")
    context = {
        "things": things,
        "form": form,
        "adding": adding,
        "cautions": cautions,
        "owners": shelf_queries.owners_of(things, who),
        "borrowed": [thing for thing in things if thing.borrowed_from_id is not None],
    }
    wrong = bool(form.errors or adding.errors)
    return render(request, "sorting/standing.html", context, status=422 if wrong else 200)


def _initial(things: list[Thing]) -> dict[str, Any]:
    """Start from what is recorded when it is one thing; of several only what they are to become counts."""
    if len(things) != 1:
        return {}
    names = ("standing", "standing_why", "open_question", "gone_how", "gone_agreed", "copy_kept")
    found = {name: getattr(things[0], name) for name in names}
    if things[0].standing_on is not None:
        found["standing_on"] = things[0].standing_on
    return found
