"""Pages of places."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from archive.access.history_words import shown
from archive.access.linked import section_page, sections
from archive.access.merging import merge_typed
from archive.access.permissions import reader, role_of
from archive.access.uniting import found_or_kept
from archive.access.views import keeper_of
from archive.places import actions, queries
from archive.places.coordinates import in_words
from archive.places.forms import NameForm, PlaceForm
from archive.places.linked import KINDS
from archive.places.models import Place

_LABELS = {"name": "Name", "within": "Lies in", "latitude": "Latitude", "longitude": "Longitude",
           "note": "What you know", "access": "Who may see it"}  # fmt: skip


@require_safe
def suggest(request: HttpRequest) -> HttpResponse:
    """Offer places while a name is being typed; the field's own name says nothing, so the first value counts."""
    typed = str(next(iter(request.GET.values()), ""))
    found = queries.suggestions(typed[:300], reader(request.user))
    return render(request, "places/_suggestions.html", {"places": found})


@require_safe
def place_list(request: HttpRequest) -> HttpResponse:
    who = reader(request.user)
    typed = request.GET.get("name", "").strip()[:300]
    page, rows = queries.list_page(who, request.GET.get("page", "1"), typed)
    return render(request, "places/list.html", {"page": page, "rows": rows, "typed": typed})


@require_safe
def page(request: HttpRequest, public_id: str) -> HttpResponse:
    who = reader(request.user)
    place, moved = found_or_kept(Place, public_id, who)
    if moved:
        return redirect(place)
    context = {
        "place": place,
        "names": list(place.names.all()),
        "lies_in": queries.lies_in(place, who),
        "globe": _globe(place),
        "sections": sections(place, who, KINDS),
        "may_write": role_of(request.user) == "keeper",
    }
    return render(request, "places/page.html", context)


def _globe(place: Place) -> str:
    if place.latitude is None or place.longitude is None:
        return ""
    return in_words(place.latitude, place.longitude)


@require_safe
def linked(request: HttpRequest, public_id: str, section: str) -> HttpResponse:
    """Show all of one kind of link of a place, 48 a page."""
    who = reader(request.user)
    place = queries.find_place(public_id, who)
    shown, page = section_page(place, section, request.GET.get("page", "1"), who, KINDS)
    return render(request, "access/linked.html", {"record": place, "section": shown, "page": page})


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    who = keeper_of(request)
    form = PlaceForm(request.POST or None, reader=who, initial={"name": request.GET.get("name", "")[:300]})
    if request.method == "POST" and form.is_valid():
        place = actions.add_place(who, form.values)
        messages.success(request, "Saved.")
        _say_namesakes(request, place)
        return redirect(place)
    return render(request, "places/add.html", {"form": form}, status=422 if form.errors else 200)


def _say_namesakes(request: HttpRequest, place: Place) -> None:
    others = queries.namesakes(place, reader(request.user))
    if others:
        labels = "; ".join(each.label for each in others)
        messages.info(
            request, f"The same name is recorded for: {labels}. If the two are one, choose “Is the same as …” below."
        )


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, public_id: str) -> HttpResponse:
    who = keeper_of(request)
    place = queries.find_place(public_id, who)
    form = PlaceForm(request.POST or None, reader=who, initial=_initial(place))
    if request.method == "POST" and form.is_valid():
        merged = merge_typed(place, form.values, _LABELS, request.POST.get("opened_version", ""))
        if merged.conflicts:
            context: dict[str, Any] = {"record": place, "form": form, "conflicts": shown(merged.conflicts, form)}
            context |= {"opened": place.version, "action": reverse("places:edit", args=[place.public_id])}
            return render(request, "access/merge.html", context, status=409)
        try:
            actions.edit_place(who, place, merged.values)
        except actions.Refused as error:
            form.add_error("within", str(error))
        else:
            if merged.theirs_kept:
                messages.info(
                    request, f"Somebody else changed this meanwhile: {', '.join(merged.theirs_kept)}. Both are kept."
                )
            messages.success(request, "Saved.")
            _say_namesakes(request, place)
            return redirect(place)
    opened = request.POST.get("opened_version") or place.version
    context = {"form": form, "place": place, "opened": opened}
    return render(request, "places/edit.html", context, status=422 if form.errors else 200)


def _initial(place: Place) -> dict[str, Any]:
    globe = (place.latitude, place.longitude) if _globe(place) else None
    return {name: getattr(place, name) for name in ("name", "within", "note", "access")} | {"globe": globe}


@require_http_methods(["GET", "HEAD", "POST"])
def add_name(request: HttpRequest, public_id: str) -> HttpResponse:
    """Add another name of a place."""
    who = keeper_of(request)
    place = queries.find_place(public_id, who)
    form = NameForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        actions.add_name(who, place, form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect(place)
    return render(request, "places/name.html", {"form": form, "place": place}, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def name(request: HttpRequest, public_id: str) -> HttpResponse:
    """Change or remove another name of a place."""
    who = keeper_of(request)
    found = queries.find_name(public_id)
    if request.method == "POST" and "remove" in request.POST:
        actions.remove_name(who, found)
        messages.success(request, "Taken away. “What happened to it” can bring it back.")
        return redirect(found.place)
    form = NameForm(request.POST or None, initial={"name": found.name, "when": found.when})
    changed = request.method == "POST" and request.POST.get("opened_version") != str(found.version)
    if request.method == "POST" and form.is_valid():
        if not changed:
            actions.edit_name(who, found, form.cleaned_data)
            messages.success(request, "Saved.")
            return redirect(found.place)
        form.add_error(None, f"Somebody changed this meanwhile; it now says: {found.name}, {found.when}. "
                             "Yours stands in the form. Save it again if yours should stand.")  # fmt: skip
    context = {"form": form, "place": found.place, "row": found}
    return render(request, "places/name.html", context, status=409 if changed else 422 if form.errors else 200)
