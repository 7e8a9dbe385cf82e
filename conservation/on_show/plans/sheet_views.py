"""Pages of one day of change: the sheet to work by and to tick, and the captions to print."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from archive.access.views import keeper_of
from conservation.on_show.plans import assess_sheet, queries, sheet_actions
from conservation.on_show.plans.forms import TickForm


@require_http_methods(["GET", "HEAD", "POST"])
def sheet(request: HttpRequest, public_id: str, week: int) -> HttpResponse:
    """What comes down, what goes up, how each is handled and where it rests; ticked when done."""
    who = keeper_of(request)
    plan = queries.find_plan(public_id, who)
    rows = queries.showings_of(plan)
    down = [each for each in rows if each.from_week + each.weeks == week]
    up = [each for each in rows if each.from_week == week]
    if week > plan.weeks:
        raise Http404
    form = TickForm(request.POST or None, down=down, up=up)
    if request.method == "POST" and form.is_valid():
        ticked_down, ticked_up = form.ticked()
        try:
            sheet_actions.tick(who, ticked_down, ticked_up, form.cleaned_data["day"])
        except sheet_actions.CannotHang as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Saved, as it happened. The light of each is counted from this day.")
            return redirect("on_show:changeover", plan.public_id, week)
    lines = assess_sheet.lines_of([*down, *up], who)
    context = {
        "plan": plan,
        "week": week,
        "day": queries.day_of(plan, week),
        "form": form,
        "down": [lines[each.pk] for each in down],
        "up": [lines[each.pk] for each in up],
        "stays": [each for each in rows if each.from_week < week < each.from_week + each.weeks],
        "open": any(not lines[each.pk].is_done(week) for each in [*down, *up]),
    }
    return render(request, "on_show/plans/sheet.html", context, status=422 if form.errors else 200)


@require_safe
def captions(request: HttpRequest, public_id: str, week: int) -> HttpResponse:
    """Captions for what goes up on a day, to print and cut."""
    who = keeper_of(request)
    plan = queries.find_plan(public_id, who)
    rows = [each for each in queries.showings_of(plan) if each.from_week == week]
    if week > plan.weeks:
        raise Http404
    for_family = request.GET.get("for") == "family"
    found = assess_sheet.captions(rows, who, request.build_absolute_uri("/"), for_family=for_family)
    context = {
        "plan": plan,
        "week": week,
        "day": queries.day_of(plan, week),
        "captions": found.captions,
        "left_out": found.left_out,
        "for_family": for_family,
        "may_change": found.may_change,
    }
    return render(request, "on_show/plans/captions.html", context)
