"""Pages of light: of a thing, what the keeper says of it, other light; putting up and taking down; bars; the policy."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.permissions import reader, role_of
from archive.access.views import keeper_of
from archive.preferences.queries import preferences
from archive.things.models import Thing
from archive.things.queries import by_number, find_thing
from conservation.meanwhile import Opened
from conservation.on_show.light import actions, assess, queries
from conservation.on_show.light.forms import BarForm, DownForm, HangForm, OwnLightForm, PolicyForm, UseForm, WhichForm
from conservation.on_show.models import BarredSpot, LightUse
from conservation.on_show.spots import actions as spot_actions
from conservation.on_show.spots import assess as spot_assess
from conservation.on_show.spots import queries as spot_queries

_OWN = (
    "may_be_shown", "blue_wool", "years_per_fade", "why", "width_mm", "height_mm", "min_weeks", "max_weeks",
    "rest_weeks", "wish",
)  # fmt: skip


@require_safe
def thing(request: HttpRequest, public_id: str) -> HttpResponse:
    """The light of one thing: its class, its year, days left at each spot, and all light it has had."""
    who = reader(request.user)
    found = find_thing(public_id, who)
    today = timezone.localdate()
    limits = spot_assess.limits_of_thing(found, uv_filtered=True)
    with_uv = spot_assess.limits_of_thing(found)
    since, until = assess.a_year(today)
    showings, uses = queries.showings_of(found), queries.uses_of(found)
    used = spot_queries.lxh_in(showings, uses, since, until)
    past = assess.history_of(showings, uses, queries.seen_spots(who), until)
    context = {
        "thing": found,
        "limits": limits,
        "with_uv": with_uv,
        "governs": "" if limits.overridden else assess.what_governs(found),
        "gauge": assess.gauge_of(with_uv, used),
        "fades": assess.fades_of(limits, past),
        "past": past,
        "now": queries.hanging(showings),
        "bars": queries.bars_of(found, who),
        "series": assess.series_table(),
        "series_why": assess.series_sources(),
        "checks": assess.checks_everywhere(found, queries.spots_in_use(who), today, used),
        "may_write": role_of(request.user) == "keeper",
    }
    return render(request, "on_show/thing_light.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def say(request: HttpRequest, public_id: str) -> HttpResponse:
    """What the keeper says of a thing's light."""
    who = keeper_of(request)
    found = find_thing(public_id, who)
    own = spot_queries.own_light([found.pk]).get(found.pk)
    initial = {name: getattr(own, name) for name in _OWN} if own else {}
    form = OwnLightForm(request.POST or None, kept=preferences(), initial=initial)
    opened = Opened(request, own)
    if request.method == "POST" and form.is_valid() and opened.is_still_so(form):
        actions.say_of_thing(who, found, {name: form.cleaned_data[name] for name in _OWN})
        messages.success(request, "Saved.")
        return redirect("on_show:thing_light", found.public_id)
    context = {"form": form, "thing": found, "limits": spot_assess.limits_of_thing(found), "opened": opened}
    return render(request, "on_show/say_light.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def use(request: HttpRequest, public_id: str) -> HttpResponse:
    """Record light that a thing got otherwise than on show."""
    who = keeper_of(request)
    found = find_thing(public_id, who)
    form = UseForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        values = {name: form.cleaned_data[name] for name in ("what", "day", "words", "lxh")}
        row = actions.add_use(who, found, values)
        messages.success(request, f"Saved: {spot_assess.rounded(row.lxh)} lux hours.")
        return redirect("on_show:thing_light", found.public_id)
    context = {"form": form, "thing": found, "why": assess.preset_sources()}
    return render(request, "on_show/use.html", context, status=422 if form.errors else 200)


@require_POST
def unuse(request: HttpRequest, public_id: str, row_id: str) -> HttpResponse:
    """Take back other light that was recorded by mistake."""
    who = keeper_of(request)
    found = find_thing(public_id, who)
    actions.remove_use(who, queries.row_of(LightUse, row_id, found))
    messages.success(request, "Taken back.")
    return redirect("on_show:thing_light", found.public_id)


@require_http_methods(["GET", "HEAD", "POST"])
def bar(request: HttpRequest, public_id: str) -> HttpResponse:
    """Say that a thing is not to be shown at a spot."""
    who = keeper_of(request)
    found = find_thing(public_id, who)
    spots = {spot.public_id: spot for spot in queries.spots_in_use(who)}
    names = [(code, spot.title) for code, spot in spots.items()]
    form = BarForm(request.POST or None, spots=names, initial={"spot": request.GET.get("spot", "")})
    if request.method == "POST" and form.is_valid():
        actions.bar(who, found, spots[form.cleaned_data["spot"]], form.cleaned_data["why"])
        messages.success(request, "Saved.")
        return redirect("on_show:thing_light", found.public_id)
    context = {"form": form, "thing": found, "bars": queries.bars_of(found, who)}
    return render(request, "on_show/bar.html", context, status=422 if form.errors else 200)


@require_POST
def unbar(request: HttpRequest, public_id: str, row_id: str) -> HttpResponse:
    """Let a thing be shown at a spot again."""
    who = keeper_of(request)
    found = find_thing(public_id, who)
    actions.unbar(who, queries.row_of(BarredSpot, row_id, found))
    messages.success(request, "It may be shown there again.")
    return redirect("on_show:thing_light", found.public_id)


@require_http_methods(["GET", "HEAD", "POST"])
def hang(request: HttpRequest, public_id: str) -> HttpResponse:
    """Put something up at a spot: first which, then its light in words, then the day."""
    who = keeper_of(request)
    spot = spot_queries.find_spot(public_id, who)
    chosen = Thing.objects.visible_to(who).present().filter(public_id=request.GET.get("thing", "")).first()
    if chosen is None:
        return _which(request, who, spot)
    is_copy = bool(request.POST.get("is_copy"))
    checked = assess.check(
        chosen, spot, timezone.localdate(), trouble=spot_actions.why_not(chosen, spot, is_copy=is_copy)
    )
    form = HangForm(request.POST or None, initial={"is_copy": checked.limits.copy == "required"})
    if request.method == "POST" and form.is_valid():
        values = form.cleaned_data
        if checked.breaks and not values["is_copy"] and not values["anyway"]:
            form.add_error("anyway", " ".join(checked.words))
        else:
            try:
                spot_actions.hang(who, chosen, spot, day=values["day"], is_copy=values["is_copy"], note=values["note"])
            except spot_actions.CannotHang as error:
                form.add_error(None, str(error))
            else:
                messages.success(request, f"{chosen.number} is on show at “{spot}”.")
                return redirect(spot)
    poor = [each for each in spot_assess.verdicts_of(spot) if each.verdict == "poor"]
    context = {"form": form, "spot": spot, "thing": chosen, "check": checked, "poor": poor}
    return render(request, "on_show/hang.html", context, status=422 if form.errors else 200)


def _which(request: HttpRequest, who: Any, spot: Any) -> HttpResponse:
    form = WhichForm(request.GET if "number" in request.GET else None)
    if form.is_bound and form.is_valid():
        found = by_number(form.cleaned_data["number"], who)
        if found is not None:
            return redirect(f"{reverse('on_show:hang', args=[spot.public_id])}?thing={found.public_id}")
        form.add_error("number", "No thing has this number. Numbers look like 0214-6.")
    context = {"form": form, "spot": spot, "offered": assess.worth_showing(queries.may_go_up(who, spot), spot.form)}
    return render(request, "on_show/which.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def down(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take a thing down, and say where it rests."""
    who = keeper_of(request)
    showing = queries.find_showing(public_id, who)
    if showing.came_down is not None and request.method != "POST":
        messages.info(request, "It has come down already.")
        return redirect("on_show:thing_light", showing.thing.public_id)
    form = DownForm(
        request.POST or None, reader=who, initial={"goes_back_to": showing.goes_back_to, "note": showing.note}
    )
    if request.method == "POST" and form.is_valid():
        values = form.cleaned_data
        try:
            spot_actions.take_down(
                who, showing, day=values["day"], goes_back_to=values["goes_back_to"], note=values["note"]
            )
        except spot_actions.CannotHang as error:
            form.add_error("day", str(error))
        else:
            had = spot_assess.rounded(showing.lxh or 0)
            messages.success(request, f"{showing.thing.number} is down. It had {had} lux hours.")
            return redirect("on_show:thing_light", showing.thing.public_id)
    context = {"form": form, "showing": showing}
    return render(request, "on_show/down.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def policy(request: HttpRequest) -> HttpResponse:
    """What holds for everything on show: the fade policy, and how strict to be about UV."""
    who = keeper_of(request)
    kept = assess.kept_policy()
    form = PolicyForm(
        request.POST or None, initial={"years_per_fade": kept.years_per_fade, "strict_uv": kept.strict_uv}
    )
    if request.method == "POST" and form.is_valid():
        actions.choose_policy(who, form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect("on_show:page")
    context = {
        "form": form,
        "why": assess.policy_reasons(),
        "series": assess.series_table(),
        "series_why": assess.series_sources(),
    }
    return render(request, "on_show/policy.html", context, status=422 if form.errors else 200)
