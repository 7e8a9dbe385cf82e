"""Pages of things."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import resolve, reverse
from django.views.decorators.http import require_GET, require_http_methods, require_safe

from archive import extend
from archive.access.history_words import shown
from archive.access.merging import merge, state_at
from archive.access.models import Account
from archive.access.permissions import may_open, reader, role_of
from archive.access.uniting import kept_one
from archive.access.views import keeper_of
from archive.boxes.queries import by_number as find_box_by_number
from archive.kinds import FAMILIES, kinds, states
from archive.pictures.actions import Refused, TakenIn, held, take_in
from archive.preferences.queries import preferences, understood
from archive.preferences.units import G_PER_OUNCE, MM_PER_INCH
from archive.sorting.texts import levels
from archive.things import actions, queries
from archive.things.forms import LENGTHS, ThingForm
from archive.things.models import Thing
from archive.things.page_queries import Whole, whole_thing


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """What a subject offers as the first page; for others the jobs that the seam knows and the latest things."""
    route = extend.home_route()
    if route is not None and may_open(request.user, route):
        match = resolve(reverse(route))
        request.resolver_match = match  # so that the menu knows where we are
        offered: HttpResponse = match.func(request)
        return offered
    who = reader(request.user)
    context = {"jobs": extend.jobs(who)[:7], "rows": queries.latest(who)}
    return render(request, "things/home.html", context)


def number_trouble(typed: str, who: Account | None) -> str:
    """Return the sentence for a typed number that leads nowhere, with the near numbers that lead somewhere."""
    from archive.numbers import read_typed

    head, slash, _ = typed.partition("/")
    read = read_typed(head)
    if slash and read.serial is not None:
        return f"No piece with the number {typed} is open to you. Pieces look like {read.number}/12."
    if read.serial is not None:
        return f"No thing with the number {typed} is open to you."
    if read.near:
        near = [each for each in read.near if goal_of(each, who) is not None]
        tried = f" Near it: {', '.join(near)}." if near else ""
        return f"{typed} is not one of our numbers: its last sign does not fit.{tried}"
    return f"{typed} is not one of our numbers. They look like 0214-6."


@require_safe
def page(request: HttpRequest, public_id: str) -> HttpResponse:
    who = reader(request.user)
    asked, start = (_figure(request.GET.get(name, "")) for name in ("piece", "from"))
    try:
        whole = whole_thing(public_id, who, asked, start or 0)
    except Http404:
        united = kept_one(Thing, public_id, who)
        if united is None:
            raise
        return redirect(united)
    if whole.thing.united_with and (united := kept_one(Thing, public_id, who)) is not None:
        return redirect(united)
    thing, kept = whole.thing, preferences()
    context = {
        "thing": thing,
        "whole": whole,
        "asked": asked,
        "asked_is_there": any(line.asked_for for line in whole.pieces),
        "panels": extend.panels(thing, who),
        "made": understood(thing.made_text, kept) if thing.made_text else None,
        "came": understood(thing.came_text, kept) if thing.came_text else None,
        "sizes": sizes_in_words(thing, kept.units),
        "may_write": role_of(request.user) == "keeper",
        "unrecorded": _unrecorded(whole),
        "level": next((each for each in levels() if each.value == thing.significance), None),
    }
    return render(request, "things/page.html", context)


def _unrecorded(whole: Whole) -> list[tuple[str, str]]:
    """Return what the keeper could still record: words and address, in the order of the page."""
    thing = whole.thing
    rights = thing.rights_maker or thing.rights_holder or thing.rights_note or thing.closed_until
    coming = whole.told_how_it_came or whole.owners
    sections = (
        ("people", "Who is in it, who made, wrote or received it", whole.people or whole.places),
        ("places", "Where it was made, what place it shows", whole.people or whole.places),
        ("pieces", "Its pieces: leaves, sheets, frames", whole.piece_count),
        ("inscriptions", "What is written on it", whole.inscriptions),
        ("coming", "How it came to us, and from whom", coming),
        ("owners", "Whose it is, or from whom it is on loan", coming),
        ("significance", "How much it matters, and why", thing.significance or thing.significance_why),
        (
            "rights",
            "Rights, and keeping it closed",
            rights or thing.show_link or thing.show_print or not thing.show_home,
        ),
        ("loans", "Lend it", whole.loan or whole.past_loans),
    )
    return [(words, reverse(f"things:{name}", args=[thing.public_id])) for name, words, there in sections if not there]


def _figure(typed: str) -> int | None:
    return int(typed) if typed.isdecimal() and len(typed) < 7 else None


def sizes_in_words(thing: Thing, units: str) -> str:
    """Return a thing's size and weight in the keeper's units, such as ``90 × 140 × 1 mm, 12 g``."""
    inch = units == "inch"
    lengths = [getattr(thing, name) for name in LENGTHS if getattr(thing, name)]
    shown = " × ".join(f"{each / MM_PER_INCH:.2f}" if inch else f"{each:g}" for each in lengths)
    words = [f"{shown} {'in' if inch else 'mm'}"] if shown else []
    if thing.weight_g:
        words.append(f"{thing.weight_g / G_PER_OUNCE:.1f} oz" if inch else f"{thing.weight_g:g} g")
    return ", ".join(words)


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    kept = preferences()
    form = ThingForm(request.POST or None, kept=kept)
    taken: list[TakenIn] = []
    refused: list[Refused] = []
    if request.method == "POST":
        fresh, refused = take_in(request.FILES.getlist("pictures"))
        taken = [*held(request.POST.getlist("held")), *fresh]
        if form.is_valid() and not (refused and not request.POST.get("without_refused")):
            thing = actions.add_thing(keeper_of(request), form.cleaned_data, taken, kept)
            messages.success(request, f"Saved as {thing.number}.")
            return redirect(thing)
    return _form_page(request, "things/add.html", form, taken=taken, refused=refused)


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, public_id: str) -> HttpResponse:
    who = keeper_of(request)
    thing = queries.find_thing(public_id, who)
    kept = preferences()
    names = list(ThingForm(kept=kept).fields)
    form = ThingForm(request.POST or None, kept=kept, initial={name: getattr(thing, name) for name in names})
    if request.method == "POST" and form.is_valid():
        values = {name: form.cleaned_data[name] for name in names}
        base = state_at(thing, request.POST.get("opened_version", ""), names)
        theirs = {name: getattr(thing, name) for name in names}
        labels = {name: str(field.label or name.replace("_", " ")) for name, field in form.fields.items()}
        merged = merge(base if base is not None else theirs, theirs, values, labels)
        if merged.conflicts:
            context = {
                "thing": thing,
                "form": form,
                "conflicts": shown(merged.conflicts, form),
                "opened": thing.version,
            }
            return render(request, "things/merge.html", context, status=409)
        actions.edit_thing(who, thing, merged.values, kept)
        if merged.theirs_kept:
            messages.info(
                request, f"Somebody else changed this meanwhile: {', '.join(merged.theirs_kept)}. Both are kept."
            )
        messages.success(request, "Saved.")
        return redirect(thing)
    return _form_page(
        request, "things/edit.html", form, thing=thing, opened=request.POST.get("opened_version") or thing.version
    )


def _form_page(request: HttpRequest, template: str, form: ThingForm, **context: Any) -> HttpResponse:
    families = [(family, [each for each in kinds() if each.family == family.code]) for family in FAMILIES]
    wrong = bool(form.errors) or bool(context.get("refused"))
    context |= {"form": form, "families": families, "state_groups": _state_groups(form)}
    return render(request, template, context, status=422 if wrong else 200)


_GROUPS = {
    "condition": "What you see: brittle, torn, stained …",
    "smell": "What you smell: vinegar, mould …",
    "hazard": "What may be dangerous: mould, insects, arsenic, batteries …",
}


def _state_groups(form: ThingForm) -> list[dict[str, Any]]:
    """Return the states in groups to fold open; one with something ticked in it stands open."""
    ticked = set(form["states"].value() or ())
    groups = []
    for code, name in _GROUPS.items():
        rows = [each for each in states() if each.group == code and each.code != "sound"]
        groups.append({"name": name, "states": rows, "open": any(each.code in ticked for each in rows)})
    return groups


@require_GET
def date_echo(request: HttpRequest) -> HttpResponse:
    """Say back how a typed date is understood, while it is being typed; the first value counts, whatever its name."""
    made = understood(str(next(iter(request.GET.values()), "")), preferences())
    return render(request, "things/_date_echo.html", {"made": made})


@require_safe
def tag(request: HttpRequest, number: str) -> HttpResponse:
    """The address on a label. It leads to the thing, or to one and the same page for every other number."""
    goal = goal_of(number, reader(request.user))
    if goal is not None:
        return redirect(goal)
    return render(request, "things/no_such_number.html", {"typed": number}, status=404)


@require_safe
def tag_piece(request: HttpRequest, number: str, piece: str) -> HttpResponse:
    """The number of a piece as an address, as somebody may type it after the address on a label."""
    return tag(request, f"{number}/{piece}")


def goal_of(typed: str, who: Account | None) -> str | None:
    """Return the address that a typed number leads to: a thing, a box, or a thing at one of its pieces."""
    found = queries.by_number(typed, who) or find_box_by_number(typed, who)
    if found is not None:
        return found.get_absolute_url()
    at = queries.by_piece_number(typed, who)
    return f"{at[0].get_absolute_url()}?piece={at[1]}#piece-{at[1]}" if at is not None else None
