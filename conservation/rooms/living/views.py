"""Pages of where things should live: the moves that help most, one box or thing, and the keeper's answer."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from archive.access.models import Account
from archive.access.permissions import reader
from archive.access.views import keeper_of
from archive.boxes.models import Box
from archive.boxes.queries import paths_of
from archive.things.models import Thing
from archive.things.queries import find_thing
from conservation.rooms.living import actions, assess, gains, moves_in_words, queries
from conservation.rooms.living.forms import AnswerForm
from conservation.rooms.living.models import MoveDecision

HOW_MANY = 5
PER_PAGE = 48


@require_safe
def living(request: HttpRequest) -> HttpResponse:
    """The five moves that would help most in the whole house, what is to be done, and how everything fares."""
    who = reader(request.user)
    house = queries.read_house(who)
    placed = assess.whole_house(house, who)
    found = assess.best_moves(placed, HOW_MANY, queries.silenced(timezone.localdate(), house))
    lines = moves_in_words.lines(placed)
    to_do = queries.to_do(house)
    changed = moves_in_words.no_longer(house, who, to_do)
    page = Paginator(lines, PER_PAGE).get_page(request.GET.get("page", "1"))
    context = {
        "moves": [moves_in_words.in_words(placed, each) for each in found],
        "to_do": [(each, _way_there(each), changed.get(each.pk, "")) for each in to_do],
        "page": page,
        "total": len(lines),
        "unknown": assess.unknown_rooms(house),
        "rooms": any(node.level == "room" for node in house.nodes.values()),
    }
    return render(request, "rooms/living/moves.html", context)


def _way_there(decision: MoveDecision) -> str:
    """Return the address of the boxes' own page of moving, filled in."""
    what = f"things={decision.thing.public_id}" if decision.thing else f"boxes={getattr(decision.box, 'public_id', '')}"
    into = f"&into={decision.goal.public_id}" if decision.goal else ""
    return f"{reverse('boxes:move')}?{what}{into}"


@require_safe
def box(request: HttpRequest, public_id: str) -> HttpResponse:
    """Where one box should live."""
    who = reader(request.user)
    return _one(request, who, queries.find_unit(public_id, who))


@require_safe
def thing(request: HttpRequest, public_id: str) -> HttpResponse:
    """Where one thing should live."""
    who = reader(request.user)
    return _one(request, who, find_thing(public_id, who))


@require_safe
def brief(request: HttpRequest, public_id: str, sort: str) -> HttpResponse:
    """The section of a thing’s or box’s own page, fetched when it comes into view."""
    who = reader(request.user)
    record: Box | Thing = find_thing(public_id, who) if sort == "thing" else queries.find_unit(public_id, who)
    return render(request, "rooms/living/_brief.html", _compared(who, record))


def _compared(who: Account | None, record: Box | Thing) -> dict[str, Any]:
    house = queries.read_house(who)
    placed = assess.of_one(house, who, record)
    decision = queries.decision_on(record)
    done = decision is not None and queries.done(decision, house)
    against = ""
    if decision is not None and decision.answer == MoveDecision.Answer.ACCEPTED and not done:
        against = moves_in_words.no_longer(house, who, [decision]).get(decision.pk, "")
    return {
        "record": record,
        "is_thing": isinstance(record, Thing),
        "found": gains.page_of(placed) if placed is not None else None,
        "decision": decision,
        "done": done,
        "changed": against,
        "outer": house.unit_of(record.inside_id if isinstance(record, Box) else record.box_id),
    }


def _one(request: HttpRequest, who: Account | None, record: Box | Thing) -> HttpResponse:
    context = _compared(who, record)
    context["way_there"] = _way_there(context["decision"]) if context["decision"] is not None else ""
    return render(request, "rooms/living/one.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def answer(request: HttpRequest, sort: str, public_id: str) -> HttpResponse:
    """Accept a move as a job, put it off, or refuse it."""
    who = keeper_of(request)
    record: Box | Thing = find_thing(public_id, who) if sort == "thing" else queries.find_unit(public_id, who)
    asked = Box.objects.visible_to(who).filter(public_id=request.GET.get("goal", "")).first()
    initial = {"answer": request.GET.get("answer", MoveDecision.Answer.ACCEPTED), "goal": asked}
    form = AnswerForm(request.POST or None, reader=who, initial=initial)
    if request.method == "POST" and form.is_valid():
        values: dict[str, Any] = dict(form.cleaned_data)
        if why := _cannot(record, values["goal"], who):
            form.add_error("goal", why)
        else:
            values["gain"] = moves_in_words.of_goal(queries.read_house(who), who, record, values["goal"])
            actions.decide(who, record, values)
            messages.success(request, _said(values["answer"]))
            return redirect("rooms:living")
    placed = assess.of_one(queries.read_house(who), who, record)
    blocked = placed is not None and bool(placed.units[0].blocked)
    context = {"form": form, "record": record, "is_thing": sort == "thing", "blocked": blocked}
    return render(request, "rooms/living/answer.html", context, status=422 if form.errors else 200)


def _cannot(record: Box | Thing, goal: Box | None, who: Account) -> str:
    """Return why something cannot go where the keeper said; nothing when it can."""
    if goal is None:
        return ""
    start = record.box_id if isinstance(record, Thing) else record.inside_id
    if start == goal.pk:
        return "It is there already."
    if isinstance(record, Box) and record.pk in {node.pk for node in paths_of([goal.pk], who).get(goal.pk, [])}:
        return "That stands in the box itself."
    if isinstance(record, Box) and not record.fits(goal):
        return f"{record} does not go into {goal}."
    return ""


def _said(given: str) -> str:
    return {
        MoveDecision.Answer.ACCEPTED: "It is a job now. Move it when you have the time.",
        MoveDecision.Answer.LATER: "Put off until then.",
    }.get(MoveDecision.Answer(given), "It will not be proposed again.")
