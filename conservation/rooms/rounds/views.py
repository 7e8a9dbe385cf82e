"""Pages of rounds: what is due, one round, one room of it, the sheet to print, and cleaning."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.views import keeper_of
from conservation.rooms.rounds import actions, assess, queries
from conservation.rooms.rounds.forms import BeginForm, RoomAnswers
from conservation.rooms.rounds.models import Answer, Round, RoundRoom


@require_http_methods(["GET", "HEAD", "POST"])
def rounds(request: HttpRequest) -> HttpResponse:
    """What is due in which room, rounds under way, and those done; begin one here."""
    who, today = keeper_of(request), timezone.localdate()
    plans = assess.plan_house(queries.rows_of_rooms(who, today), today)
    asked = request.GET.getlist("room")
    under_way = queries.rounds_under_way()
    walking = {row.box_id for each in under_way for row in each.rooms.all() if row.open_checks()}
    free = [plan for plan in plans if plan.due and plan.room.pk not in walking]
    wanted = [plan.room.public_id for plan in plans if (plan.room.public_id in asked if asked else plan in free)]
    choices = [(plan.room.public_id, plan.room.title) for plan in plans]
    form = BeginForm(request.POST or None, rooms=choices, initial={"rooms": wanted})
    if request.method == "POST" and form.is_valid():
        chosen = [plan for plan in plans if plan.room.public_id in form.cleaned_data["rooms"]]
        which = form.cleaned_data["which"]
        lists = [(plan.room, [line.check.code for line in _lines(plan, which)]) for plan in chosen]
        return redirect(actions.begin_round(who, today, lists))
    ticked = form["rooms"].value() or []
    page = Paginator(queries.rounds_done(), queries.PER_PAGE).get_page(request.GET.get("page", "1"))
    context = {
        "plans": plans, "form": form, "ticked": ticked, "under_way": under_way, "walking": walking, "page": page,
        "minutes": sum(plan.minutes for plan in free), "due": len(free), "today": today,
        "open_findings": assess.named_findings(queries.findings_of(closed=False)[:5]),
    }  # fmt: skip
    return render(request, "rooms/rounds/list.html", context, status=422 if form.errors else 200)


def _lines(plan: assess.RoomPlan, which: str) -> tuple[assess.Line, ...]:
    """Return what is looked at: all, what a storm does, or what is due and soon due; where nothing is, all of it."""
    if which == "storm":
        return tuple(line for line in plan.lines if line.check.storm)
    return plan.lines if which == "everything" else plan.soon or plan.lines


@require_safe
def one_round(request: HttpRequest, round_id: str) -> HttpResponse:
    """One round, room by room."""
    keeper_of(request)
    found = queries.find_round(round_id)
    told = queries.told_of(found)
    rows = []
    for row in found.rooms.all():
        noticed = [code for code, said in row.answers.items() if said == Answer.FOUND]
        rows.append(
            {
                "row": row, "open": len(row.open_checks()), "found": len(noticed),
                "untold": [c for c in noticed if (row.box_id, c) not in told],
                "minutes": assess.minutes(len(row.open_checks())),
            }
        )  # fmt: skip
    upcoming = next((each["row"] for each in rows if each["open"]), None)
    findings = assess.named_findings(queries.findings_on(found))
    context = {"round": found, "rows": rows, "next": upcoming, "findings": findings}
    return render(request, "rooms/rounds/round.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def round_room(request: HttpRequest, round_id: str, public_id: str) -> HttpResponse:
    """The check list of one room, to tap through on a phone."""
    who, today = keeper_of(request), timezone.localdate()
    found = queries.find_round(round_id)
    row = queries.find_round_room(found, public_id)
    form = RoomAnswers(request.POST or None, codes=row.checks)
    if request.method == "POST" and form.is_valid():
        answers = form.answers(Answer.FINE if request.POST.get("rest") == "fine" else "")
        finished = actions.answer_room(who, row, answers, today)
        return redirect(_after_room(request, found, row, finished))
    checks = [
        {"check": check, "senses": assess.senses(check), "said": row.answers.get(check.code, ""),
         "caution": assess.caution(check.caution)}
        for check in assess.lines_of(row.checks)
    ]  # fmt: skip
    context = {
        "round": found, "row": row, "room": row.box, "checks": checks, "form": form, "choices": Answer.choices,
        "findings": assess.named_findings(queries.open_in(row.box)),
    }  # fmt: skip
    return render(request, "rooms/rounds/room.html", context, status=422 if form.errors else 200)


def _after_room(request: HttpRequest, found: Round, row: RoundRoom, finished: bool) -> str:
    """Say that it is saved, and go where something was found, to the next room, or back to the round."""
    said = sum(each in (Answer.FINE, Answer.FOUND) for each in row.answers.values())
    messages.success(request, f"Saved: {said} of {len(row.checks)} looked at in {row.box.title}.")
    if finished:
        messages.success(request, "That was the last room. The round is done.")
    told = queries.told_of(found)
    for code in row.checks:
        if row.answers.get(code) == Answer.FOUND and (row.box_id, code) not in told:
            return f"{reverse('rooms:add_finding', args=[row.box.public_id])}?round={found.public_id}&check={code}"
    return next_room(found, row) or found.get_absolute_url()


def next_room(found: Round, after: RoundRoom) -> str:
    """Return the address of the next room of a round with something left to look at; nothing where there is none."""
    for each in found.rooms.all():
        if each.pk != after.pk and each.open_checks():
            return reverse("rooms:round_room", args=[found.public_id, each.box.public_id])
    return ""


@require_POST
def end_round(request: HttpRequest, round_id: str) -> HttpResponse:
    """End a round as it is."""
    who = keeper_of(request)
    found = queries.find_round(round_id)
    actions.end_round(who, found)
    messages.success(request, "The round is ended. What was not looked at stays due.")
    return redirect("rooms:rounds")


@require_safe
def sheet(request: HttpRequest, round_id: str) -> HttpResponse:
    """A round as sheets of paper, a room each."""
    keeper_of(request)
    found = queries.find_round(round_id)
    rows = [
        (row, [(check, assess.senses(check), row.answers.get(check.code, "")) for check in assess.lines_of(row.checks)])
        for row in found.rooms.all()
    ]
    codes = {check.caution for _, lines in rows for check, _, _ in lines if check.caution}
    cautions = [shown for code in sorted(codes) if (shown := assess.caution(code))]
    return render(request, "rooms/rounds/sheet.html", {"round": found, "rows": rows, "cautions": cautions})


@require_safe
def cleaning(request: HttpRequest) -> HttpResponse:
    """Cleaning steps, each with its caution, to read or print."""
    keeper_of(request)
    never, why_never = assess.never_when_cleaning()
    wanted = request.GET.get("task", "")
    tasks = assess.tasks()
    chosen = [each for each in tasks if each.code == wanted] or tasks
    context = {"tasks": chosen, "all": chosen is tasks, "never": never, "why_never": [why_never]}
    return render(request, "rooms/rounds/cleaning.html", context)
