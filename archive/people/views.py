"""Pages of people."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_safe

from archive.access.history_words import shown
from archive.access.linked import section_page, sections
from archive.access.merging import merge_typed
from archive.access.permissions import reader, role_of
from archive.access.uniting import found_or_kept
from archive.access.views import keeper_of
from archive.people import actions, queries, tree
from archive.people.family import family_of, impossible
from archive.people.forms import PersonForm, row_form
from archive.people.linked import KINDS
from archive.people.models import Partnership, Person
from archive.places.models import Place
from archive.preferences.queries import preferences, understood

ADDING = {"name": "Another name of", "parent": "A parent of", "child": "A child of", "partner": "A partner of"}
CHANGING = {
    "name": "Change a name of",
    "parent": "Parent and child",
    "child": "Parent and child",
    "partner": "Partners",
}


@require_safe
def suggest(request: HttpRequest) -> HttpResponse:
    """Offer people while a name is being typed; the field's own name says nothing, so the first value counts."""
    typed = str(next(iter(request.GET.values()), ""))
    found = queries.suggestions(typed[:300], reader(request.user))
    return render(request, "people/_suggestions.html", {"people": found})


@require_safe
def people_list(request: HttpRequest) -> HttpResponse:
    who = reader(request.user)
    typed, unidentified = request.GET.get("name", "").strip()[:300], request.GET.get("unidentified") == "1"
    page, rows = queries.list_page(who, request.GET.get("page", "1"), typed, unidentified)
    context = {
        "page": page,
        "rows": rows,
        "typed": typed,
        "unidentified": unidentified,
        "letters": queries.first_letters(who),
        "nameless": queries.anybody_unidentified(who),
    }
    return render(request, "people/list.html", context)


@require_safe
def page(request: HttpRequest, public_id: str) -> HttpResponse:
    who = reader(request.user)
    person, moved = found_or_kept(Person, public_id, who)
    if moved:
        return redirect(person)
    kept = preferences()
    family = family_of(person, who)
    may_write = role_of(request.user) == "keeper"
    found = sections(person, who, KINDS)
    context = {
        "person": person,
        "names": list(person.names.all()),
        "born": understood(person.born_text, kept),
        "died": understood(person.died_text, kept),
        "where": _places_of(person, who),
        "family": family,
        "sections": found,
        "portrait": next((row for each in found if each.code == "pictures" for row in each.rows if row.crop), None),
        "presumption": queries.presumption(person, kept) if who is not None else "",
        "warnings": impossible(family) if may_write else [],
        "may_write": may_write,
    }
    return render(request, "people/page.html", context)


def _places_of(person: Person, who: Any) -> dict[str, Place | None]:
    """Return the places of birth and death that the reader may see, in one query."""
    ids = [each for each in (person.born_where_id, person.died_where_id) if each]
    seen = Place.objects.visible_to(who).present().in_bulk(ids) if ids else {}
    return {"born": seen.get(person.born_where_id), "died": seen.get(person.died_where_id)}


@require_safe
def linked(request: HttpRequest, public_id: str, section: str) -> HttpResponse:
    """Show all of one kind of link of a person, 48 a page."""
    who = reader(request.user)
    person = queries.find_person(public_id, who)
    shown, page = section_page(person, section, request.GET.get("page", "1"), who, KINDS)
    return render(request, "access/linked.html", {"record": person, "section": shown, "page": page})


@require_safe
def family(request: HttpRequest, public_id: str) -> HttpResponse:
    """The family sheet: the nearest people of one person, drawn and listed."""
    person = queries.find_person(public_id, reader(request.user))
    found = family_of(person, reader(request.user))
    context = {"person": person, "family": found, "tree": tree.draw(found) if found.anybody else None}
    return render(request, "people/family.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    who = keeper_of(request)
    form = PersonForm(request.POST or None, reader=who, initial={"name": request.GET.get("name", "")[:300]})
    if request.method == "POST" and form.is_valid():
        person = actions.add_person(who, form.cleaned_data, preferences())
        messages.success(request, "Saved.")
        _say_what_is_odd(request, person)
        return redirect(person)
    return render(request, "people/add.html", {"form": form}, status=422 if form.errors else 200)


def _say_what_is_odd(request: HttpRequest, person: Person) -> None:
    """Warn of dates that cannot be and of somebody with the same name; nothing is refused for it."""
    who = reader(request.user)
    for sentence in impossible(family_of(person, who)):
        messages.warning(request, sentence)
    others = queries.namesakes(person, who)
    if others:
        labels = ", ".join(each.label for each in others)
        messages.info(
            request,
            f"The same name is recorded for: {labels}. If the two are one person, choose “Is the same as …” below.",
        )


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, public_id: str) -> HttpResponse:
    who = keeper_of(request)
    person = queries.find_person(public_id, who)
    names = list(PersonForm(reader=who).fields)
    form = PersonForm(request.POST or None, reader=who, initial={name: getattr(person, name) for name in names})
    if request.method == "POST" and form.is_valid():
        labels = {name: str(field.label or name) for name, field in form.fields.items()}
        merged = merge_typed(person, form.cleaned_data, labels, request.POST.get("opened_version", ""))
        context = {"record": person, "form": form, "conflicts": shown(merged.conflicts, form), "opened": person.version}
        if merged.conflicts:
            context["action"] = reverse("people:edit", args=[person.public_id])
            return render(request, "access/merge.html", context, status=409)
        actions.edit_person(who, person, merged.values, preferences())
        if merged.theirs_kept:
            messages.info(
                request, f"Somebody else changed this meanwhile: {', '.join(merged.theirs_kept)}. Both are kept."
            )
        messages.success(request, "Saved.")
        _say_what_is_odd(request, person)
        return redirect(person)
    opened = request.POST.get("opened_version") or person.version
    context = {"form": form, "person": person, "opened": opened}
    return render(request, "people/edit.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def add_row(request: HttpRequest, public_id: str, what: str) -> HttpResponse:
    """Add a name, a parent, a child or a partner to somebody."""
    if what not in ADDING:
        raise Http404
    who = keeper_of(request)
    person = queries.find_person(public_id, who)
    form = row_form(what, request.POST or None, reader=who)
    if request.method == "POST" and form.is_valid():
        try:
            _add(who, person, what, dict(form.cleaned_data))
        except actions.Refused as error:
            form.add_error(None if what == "name" else "person", str(error))
        else:
            messages.success(request, "Saved.")
            for sentence in impossible(family_of(person, who)):
                messages.warning(request, sentence)
            return redirect(person)
    context = {"form": form, "person": person, "heading": ADDING[what], "what": what}
    return render(request, "people/row.html", context, status=422 if form.errors else 200)


def _add(who: Any, person: Person, what: str, values: dict[str, Any]) -> None:
    if what == "name":
        actions.add_name(who, person, values)
        return
    other = values.pop("person")
    if what == "partner":
        actions.add_partner(who, person, other, values, preferences())
    elif what == "parent":
        actions.add_parent(who, person, other, values["sort"])
    else:
        actions.add_parent(who, other, person, values["sort"])


@require_http_methods(["GET", "HEAD", "POST"])
def row(request: HttpRequest, what: str, public_id: str) -> HttpResponse:
    """Change or remove a name, a parent or a partner."""
    who = keeper_of(request)
    found = queries.find_row(what, public_id)
    person = _owner(found, what)
    if request.method == "POST" and "remove" in request.POST:
        actions.remove_row(who, found)
        messages.success(request, "Taken away. “What happened to it” can bring it back.")
        return redirect(person)
    plain = row_form(what, reader=who, fixed=True)
    initial = {name: getattr(found, name) for name in plain.fields}
    form = row_form(what, request.POST or None, reader=who, fixed=True, initial=initial)
    changed = request.method == "POST" and request.POST.get("opened_version") != str(found.version)
    if request.method == "POST" and form.is_valid() and changed:
        form.add_error(None, f"Somebody changed this meanwhile; it now says: {_in_words(found)}. "
                             "Yours stands in the form. Save it again if yours should stand.")  # fmt: skip
    if request.method == "POST" and form.is_valid():
        actions.edit_row(who, found, form.cleaned_data, preferences())
        messages.success(request, "Saved.")
        for sentence in impossible(family_of(person, who)):
            messages.warning(request, sentence)
        return redirect(person)
    context = {"form": form, "person": person, "row": found, "heading": CHANGING[what], "what": what}
    return render(request, "people/row.html", context, status=409 if changed else 422 if form.errors else 200)


def _owner(found: Any, what: str) -> Person:
    """Return the person to whose page a row leads back."""
    owner: Person = getattr(found, {"name": "person", "parent": "child", "child": "parent", "partner": "one"}[what])
    return owner


def _in_words(found: Any) -> str:
    said = [str(found), found.get_sort_display()]
    if isinstance(found, Partnership):
        said += [each for each in (found.since_text, found.until_text) if each]
    return ", ".join(said)


@require_GET
def date_echo(request: HttpRequest) -> HttpResponse:
    """Say back how a typed date is understood, while it is being typed."""
    typed = str(next(iter(request.GET.values()), ""))
    return render(request, "things/_date_echo.html", {"made": understood(typed, preferences())})
