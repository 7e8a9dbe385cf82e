"""Changing a plan by hand: every change is judged before it is saved, and the longest legal showing is offered."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from archive.access.models import Account
from archive.access.views import keeper_of
from archive.preferences.queries import preferences
from conservation.on_show.models import DisplayPlan
from conservation.on_show.plans import actions, assess, assess_answer, assess_by_hand, assess_days, queries
from conservation.on_show.plans.forms import ShowingForm


def _view(request: HttpRequest, public_id: str) -> tuple[Account, DisplayPlan, assess_answer.View]:
    who = keeper_of(request)
    plan = queries.find_plan(public_id, who)
    asked = assess.asked_before(plan)
    errand = queries.errand_of(plan)
    if asked is None or (errand is not None and not errand.is_over):
        raise Http404
    return who, plan, assess_answer.view_of(plan, asked, who, inch=preferences().units == "inch")


def _options(view: assess_answer.View, keep: Any = None) -> dict[str, Any]:
    first = view.asked.about.get("first_free", 0)
    starts = [each for each in assess_days.week_choices(view.plan, view.asked, ends=False) if each[0] >= first]
    ends = [each for each in assess_days.week_choices(view.plan, view.asked, ends=True) if each[0] > first]
    if keep is not None:
        for choices, week in ((starts, keep.from_week), (ends, keep.from_week + keep.weeks)):
            if week not in dict(choices):
                choices.insert(0, (week, view.day_words(week)))
    spots = sorted((view.spots[each.id] for each in view.problem.spots if each.id in view.spots), key=lambda s: s.title)
    return {"spots": spots, "starts": starts, "ends": ends}


def _week(request: HttpRequest, name: str, usual: int) -> int:
    """Return a week that an offer of the plan’s page names, else the usual one."""
    typed = request.GET.get(name, "")
    return int(typed) if typed.isdecimal() and len(typed) < 4 else usual


@require_http_methods(["GET", "HEAD", "POST"])
def showing(request: HttpRequest, public_id: str, showing_id: str) -> HttpResponse:
    """Move, shorten, lengthen, pin or take out a showing that has not happened."""
    who, plan, view = _view(request, public_id)
    row = queries.find_showing(plan, showing_id)
    if row.showing is not None:
        return render(request, "on_show/plans/happened.html", {"plan": plan, "row": row})
    if request.method == "POST" and "take_out" in request.POST:
        actions.take_out(who, row)
        messages.success(request, f"Taken out of the plan: {row.thing}.")
        return redirect(plan)
    end = row.from_week + row.weeks
    initial: dict[str, Any] = {"spot": row.spot.public_id, "pinned": row.pinned}
    initial |= {"from_week": _week(request, "from", row.from_week), "end_week": _week(request, "until", end)}
    form = ShowingForm(request.POST or None, initial=initial, **_options(view, row))
    broken: list[assess_by_hand.Broken] = []
    if request.method == "POST" and form.is_valid():
        values = form.cleaned_data
        spot = view.spots[values["spot"]]
        length = values["end_week"] - values["from_week"]
        broken = assess_by_hand.check_by_hand(
            view, assess_by_hand.one_of(row.thing, row.is_copy, spot, values["from_week"], length), row
        )
        if not broken:
            actions.move(who, row, spot, values["from_week"], length, pinned=values["pinned"])
            messages.success(request, "Saved. It keeps every rule.")
            return redirect(plan)
        form.add_error(None, " ".join(each.say for each in broken))
    context = {"form": form, "plan": plan, "row": row, "broken": broken, "first": view.day(row.from_week)}
    return render(request, "on_show/plans/showing.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def put_up(request: HttpRequest, public_id: str) -> HttpResponse:
    """Put a showing into a plan by hand."""
    who, plan, view = _view(request, public_id)
    initial = {"thing": request.GET.get("thing", "")}
    form = ShowingForm(request.POST or None, initial=initial, reader=who, **_options(view))
    broken: list[assess_by_hand.Broken] = []
    if request.method == "POST" and form.is_valid():
        values = form.cleaned_data
        thing, spot = values["thing"], view.spots[values["spot"]]
        length = values["end_week"] - values["from_week"]
        one = assess_by_hand.one_of(thing, values["is_copy"], spot, values["from_week"], length)
        if one.thing not in {each.id for each in view.problem.things}:
            form.add_error("thing", assess_by_hand.why_not_in(values["is_copy"]))
        else:
            broken = assess_by_hand.check_by_hand(view, one, None)
            if not broken:
                actions.put_in(
                    who, plan, thing, spot, values["from_week"], length, is_copy=values["is_copy"],
                    pinned=values["pinned"],
                )  # fmt: skip
                messages.success(request, "Saved. It keeps every rule.")
                return redirect(plan)
            form.add_error(None, " ".join(each.say for each in broken))
    context = {"form": form, "plan": plan, "broken": broken}
    return render(request, "on_show/plans/put_up.html", context, status=422 if form.errors else 200)
