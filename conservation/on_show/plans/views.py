"""Pages of plans: the list, what is asked, wishes, the plan as it stands, working it out, accepting it."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.views import keeper_of
from archive.preferences.queries import preferences
from conservation.meanwhile import Opened
from conservation.on_show.models import DisplayPlan
from conservation.on_show.plans import (
    actions,
    assess,
    assess_answer,
    assess_by_hand,
    assess_days,
    assess_drawing,
    queries,
)
from conservation.on_show.plans.forms import WISHES, AddThingForm, PlanForm, SettingsForm, WishForm


@require_safe
def plans(request: HttpRequest) -> HttpResponse:
    """All plans."""
    who = keeper_of(request)
    rows = queries.plans(who)
    return render(request, "on_show/plans/list.html", {"plans": rows, "numbers_why": [assess.numbers_why()]})


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Begin a plan."""
    who = keeper_of(request)
    today = queries.today()
    monday = today + timedelta(days=-today.weekday() % 7)
    initial = {"title": f"Showings from {monday:%B %Y}", "starts_on": monday, **assess.begun()}
    form = PlanForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        plan = actions.add_plan(who, form.cleaned_data)
        actions.change_plan(who, plan, {"change_weeks": assess.proposed_days(plan, assess.days_between(plan, who))})
        return redirect(plan)
    context = {"form": form, "numbers_why": [assess.numbers_why()]}
    return render(request, "on_show/plans/add.html", context, status=422 if form.errors else 200)


@require_safe
def plan(request: HttpRequest, public_id: str) -> HttpResponse:
    """A plan: while it is worked out how far it is, then the answer, drawn and in words."""
    who = keeper_of(request)
    found = queries.find_plan(public_id, who)
    latest = queries.errand_of(found)
    errand = latest if latest is not None and not latest.is_over else None
    inch = preferences().units == "inch"
    context: dict[str, Any] = {"plan": found, "errand": errand, "today": queries.today(), "end": queries.end_of(found)}
    context["trouble"] = latest.message if latest is not None and queries.went_wrong(latest) else ""
    if errand is not None:
        context["best"] = errand.payload.get("best")
        page = "_working" if getattr(request, "htmx", False) else "working"
        return render(request, f"on_show/plans/{page}.html", context)
    if getattr(request, "htmx", False):
        response = HttpResponse(status=204)
        response["HX-Refresh"] = "true"
        return response
    asked = assess.asked_before(found)
    if asked is None:
        return render(request, "on_show/plans/before.html", {**context, **_before(found, who)})
    context |= _answer(found, asked, who, inch)
    return render(request, "on_show/plans/plan.html", context)


def _before(found: DisplayPlan, who: Any) -> dict[str, Any]:
    """What goes into a plan that has not been worked out yet."""
    asked = assess.build(found, who, queries.today())
    view = assess_answer.view_of(found, asked, who, inch=preferences().units == "inch")
    return {
        "view": view,
        "notes": assess_answer.notes(view),
        "spot_count": len(view.problem.spots),
        "things": [
            view.things[each.id.removesuffix(assess.COPY)]
            for each in view.problem.things
            if each.id not in view.offered
        ],
        "days": sorted(
            (view.occasions[each.id] for each in view.problem.occasions or [] if each.id in view.occasions),
            key=lambda each: each.day,
        ),
        "changes": [view.day(week) for week in found.change_weeks],
        "outside": assess_answer.unused_things(view)[-len(asked.about["outside"]) :] if asked.about["outside"] else [],
        "numbers_why": [assess.numbers_why()],
    }


def _answer(found: DisplayPlan, asked: assess.Asked, who: Any, inch: bool) -> dict[str, Any]:
    view = assess_answer.view_of(found, asked, who, inch=inch)
    met = assess_answer.met_days(view)
    missed = assess_answer.missed_days(view)
    known = {each.id for each in met}
    counted = [view.occasions[each.id] for each in view.problem.occasions or [] if each.id in view.occasions]
    infeasible = (found.answer or {}).get("status") == "infeasible"
    standing = assess_answer.standing(view)
    return {
        "view": view,
        "standing": standing,
        "infeasible": infeasible,
        "against": assess_by_hand.pins_in_the_way(view, assess.pinned_clashes(asked)) if infeasible else [],
        "breaks": [assess_by_hand.say(view, each) for each in standing.breaks] if not infeasible else [],
        "doses": assess_answer.doses(view),
        "met": met,
        "missed": missed,
        "unused": assess_answer.unused_things(view),
        "notes": assess_answer.notes(view),
        "grids": [
            assess_drawing.grid(
                found,
                view.rows,
                view.spots.values(),
                [(each, each.id in known) for each in counted],
                queries.today(),
                shape,
            )
            for shape in (assess_drawing.WIDE, assess_drawing.NARROW)
        ],
        "days": assess_days.change_days(found, view.rows, met),
        "next_week": queries.next_changeover(found, view.rows, queries.today()) if found.accepted_at else None,
        "score_why": [assess.score_why()],
    }


@require_http_methods(["GET", "HEAD", "POST"])
def settings(request: HttpRequest, public_id: str) -> HttpResponse:
    """Change what is asked of a plan: its days of change, its time."""
    who = keeper_of(request)
    found = queries.find_plan(public_id, who)
    happened = any(each.showing is not None for each in queries.showings_of(found))
    names = ("title", "starts_on", "weeks", "changeovers", "seconds", "note", "change_weeks")
    initial = {name: getattr(found, name) for name in names}
    form = SettingsForm(request.POST or None, plan=found, fixed_start=happened, initial=initial)
    opened = Opened(request, found)
    if request.method == "POST" and form.is_valid() and opened.is_still_so(form):
        values = dict(form.cleaned_data)
        anew = values.pop("propose") or values.get("weeks", found.weeks) != found.weeks
        anew = anew or values.get("starts_on", found.starts_on) != found.starts_on
        values["change_weeks"] = sorted({0, *values["change_weeks"]})
        actions.change_plan(who, found, values)
        if anew:
            now = queries.week_now(found, queries.today())
            kept = [week for week in found.change_weeks if week < now] if happened else []
            days = assess.proposed_days(found, assess.days_between(found, who), kept)
            actions.change_plan(who, found, {"change_weeks": days})
        messages.success(request, "Saved. Work the plan out again to see what comes of it.")
        return redirect(found)
    context = {"form": form, "plan": found, "numbers_why": [assess.numbers_why()], "opened": opened}
    return render(request, "on_show/plans/settings.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def wishes(request: HttpRequest, public_id: str) -> HttpResponse:
    """Say how gladly each thing would be seen, and leave some out."""
    who = keeper_of(request)
    found = queries.find_plan(public_id, who)
    rows = assess.thought_of(found, who)
    form = WishForm(request.POST or None, rows=[(each.thing, each.wish) for each in rows], left_out=found.left_out)
    if request.method == "POST" and form.is_valid():
        things = {each.thing.public_id: each.thing for each in rows}
        chosen = form.chosen()
        left_out = [address for address, value in chosen.items() if value == "out"]
        wished = {things[a]: int(value) if value else None for a, value in chosen.items() if value != "out"}
        actions.wish(who, wished, found, left_out)
        messages.success(request, "Saved. Work the plan out again to see what comes of it.")
        return redirect(found)
    context = {"form": form, "plan": found, "add_form": AddThingForm(reader=who), "wishes": WISHES}
    return render(request, "on_show/plans/wishes.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def add_wish(request: HttpRequest, public_id: str) -> HttpResponse:
    """Name another thing for the wall."""
    who = keeper_of(request)
    found = queries.find_plan(public_id, who)
    form = AddThingForm(request.POST or None, reader=who)
    if request.method == "POST" and form.is_valid():
        thing = form.cleaned_data["thing"]
        actions.wish(who, {thing: 4}, found, [each for each in found.left_out if each != thing.public_id])
        messages.success(request, f"{thing} is thought of now.")
        return redirect("on_show:plan_wishes", found.public_id)
    context = {"form": form, "plan": found}
    return render(request, "on_show/plans/add_wish.html", context, status=422 if form.errors else 200)


@require_POST
def work(request: HttpRequest, public_id: str) -> HttpResponse:
    """Have the plan worked out; what is pinned and cannot stand is told at once."""
    who = keeper_of(request)
    found = queries.find_plan(public_id, who)
    asked = assess.build(found, who, queries.today())
    if assess.pinned_clashes(asked):
        actions.take_answer(who, found, asked.stored, assess.refused(asked))
        messages.error(request, "What is pinned cannot stand together. The page says which rule and by how much.")
        return redirect(found)
    actions.send(who, found, asked.stored)
    return redirect(found)


@require_POST
def stop(request: HttpRequest, public_id: str) -> HttpResponse:
    """Stop working it out; the best so far is kept."""
    found = queries.find_plan(public_id, keeper_of(request))
    actions.stop(found)
    messages.info(request, "It stops now and keeps the best it has.")
    return redirect(found)


@require_POST
def accept(request: HttpRequest, public_id: str) -> HttpResponse:
    """Accept a plan, unless it breaks a rule."""
    who = keeper_of(request)
    found = queries.find_plan(public_id, who)
    asked = assess.asked_before(found)
    view = assess_answer.view_of(found, asked, who, inch=False) if asked else None
    if view is None or not view.rows or assess_answer.standing(view).breaks:
        messages.error(request, "A plan is accepted when it has showings and breaks no rule.")
    else:
        actions.accept(who, found)
        messages.success(request, "Accepted. Its days of change are on the list of what to do.")
    return redirect(found)
