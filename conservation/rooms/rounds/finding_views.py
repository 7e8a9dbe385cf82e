"""Pages of findings: all of them, one, and writing one up with pictures."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from archive.access.views import keeper_of
from archive.boxes.models import Box
from archive.pictures.actions import Refused, TakenIn, held, take_in
from conservation.meanwhile import Opened
from conservation.rooms.queries import find_room
from conservation.rooms.rounds import actions, assess, queries
from conservation.rooms.rounds.forms import CloseForm, FindingForm
from conservation.rooms.rounds.models import Answer, Finding, Round

_AT_RISK = 12


@require_safe
def findings(request: HttpRequest) -> HttpResponse:
    """All findings: those that are open, or those that are closed."""
    keeper_of(request)
    closed = request.GET.get("closed") == "1"
    page = Paginator(queries.findings_of(closed=closed), queries.PER_PAGE).get_page(request.GET.get("page", "1"))
    rows = assess.named_findings(page.object_list)
    return render(request, "rooms/rounds/findings.html", {"page": page, "rows": rows, "closed": closed})


@require_http_methods(["GET", "HEAD", "POST"])
def finding(request: HttpRequest, finding_id: str) -> HttpResponse:
    """One finding: caution, what it means, what to do first, what is at risk; close it here."""
    who = keeper_of(request)
    found = queries.find_finding(finding_id)
    form = CloseForm(request.POST or None)
    if request.method == "POST" and found.closed_on is not None:
        messages.info(request, "It was closed already. Nothing was changed; say more on “Change it”.")
        return redirect(found)
    if request.method == "POST" and form.is_valid():
        actions.close_finding(who, found, form.cleaned_data["closed_on"], form.cleaned_data["closed_how"])
        messages.success(request, "Closed. The check stays more frequent for a while.")
        return redirect(found)
    told = assess.meaning(found.check_code)
    risk = queries.at_risk(found, told.threatened, who, _AT_RISK) if told else None
    context = {
        "finding": found, "told": told, "form": form, "risk": risk,
        "pictures": queries.pictures_to_show(found), "name": assess.check_name(found.check_code),
        "freezings": list(found.freezings.all()),
    }  # fmt: skip
    return render(request, "rooms/rounds/finding.html", context, status=422 if form.errors else 200)


def _pictures(request: HttpRequest) -> tuple[list[TakenIn], list[Refused]]:
    """Take in the pictures of the form; those held since an earlier sending come first."""
    fresh, refused = take_in(request.FILES.getlist("pictures"))
    return [*held(request.POST.getlist("held_pictures")), *fresh], refused


@require_http_methods(["GET", "HEAD", "POST"])
def add_finding(request: HttpRequest, public_id: str) -> HttpResponse:
    """Write up something found in a room; ``?round=`` and ``?check=`` come from a round."""
    who = keeper_of(request)
    room = find_room(public_id, who)
    asked = request.POST.get("round") or request.GET.get("round") or ""
    round_ = queries.find_round(asked) if asked else None
    form = FindingForm(
        request.POST or None, room=room, reader=who, initial={"check_code": request.GET.get("check", "")}
    )
    taken: list[TakenIn] = []
    refused: list[Refused] = []
    if request.method == "POST":
        taken, refused = _pictures(request)
        if form.is_valid() and not (refused and not request.POST.get("without_refused")):
            made = actions.add_finding(who, room, form.values(), form.cleaned_data["things"], taken, round_)
            messages.success(request, "Saved. Read what to do first before you go on.")
            return redirect(_next(made, round_, room))
    return _form_page(request, form, room, taken, refused, round_)


def _next(made: Finding, round_: Round | None, room: Box) -> str:
    """Return the next thing found in the same room of a round that is not written up; else the finding's own page."""
    if round_ is not None:
        told = queries.told_of(round_)
        for row in round_.rooms.all():
            waiting = [code for code, said in row.answers.items() if said == Answer.FOUND]
            untold = [code for code in waiting if (row.box_id, code) not in told]
            if row.box_id == room.pk and untold:
                address = reverse("rooms:add_finding", args=[room.public_id])
                return f"{address}?round={round_.public_id}&check={untold[0]}"
    return made.get_absolute_url()


@require_http_methods(["GET", "HEAD", "POST"])
def change_finding(request: HttpRequest, finding_id: str) -> HttpResponse:
    """Change what a finding says, or add pictures."""
    who = keeper_of(request)
    found = queries.find_finding(finding_id)
    numbers = " ".join(each.thing.number for each in found.things.all())
    initial = {name: getattr(found, name) for name in ("check_code", "box", "gravity", "words", "found_on")}
    form = FindingForm(request.POST or None, room=found.room, reader=who, initial={**initial, "things": numbers})
    opened = Opened(request, found)
    taken: list[TakenIn] = []
    refused: list[Refused] = []
    if request.method == "POST":
        taken, refused = _pictures(request)
        taken_in = not refused or request.POST.get("without_refused")
        if form.is_valid() and taken_in and opened.is_still_so(form):
            actions.change_finding(who, found, form.values(), form.cleaned_data["things"], taken)
            messages.success(request, "Saved.")
            return redirect(found)
    return _form_page(request, form, found.room, taken, refused, found.round, finding=found, opened=opened)


def _form_page(
    request: HttpRequest, form: FindingForm, room: Box, taken: list[TakenIn], refused: list[Refused],
    round_: Round | None, **changed: Any,
) -> HttpResponse:  # fmt: skip
    said = str(form["check_code"].value() or "")
    told = assess.meaning(said)
    context: dict[str, Any] = {
        "form": form, "room": room, "round": round_, "refused": refused, "told": told,
        "each": {"name": "pictures", "held": taken}, **changed,
    }  # fmt: skip
    return render(request, "rooms/rounds/finding_form.html", context, status=422 if form.errors or refused else 200)
