"""The small pages on which a keeper changes one section of what is recorded of a thing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from archive.access.history_words import shown
from archive.access.merging import Merge, merge, state_at
from archive.access.models import Account
from archive.access.views import keeper_of
from archive.sorting.texts import levels
from archive.things import actions, link_actions, queries, row_forms, section_forms
from archive.things.link_actions import TwiceTheSame
from archive.things.models import Thing
from archive.things.rows import RowChange
from archive.things.section_forms import SectionForm
from archive.things.shares import trouble_with

_METHODS = ["GET", "HEAD", "POST"]


@dataclass(frozen=True)
class RowsPage:
    """A page of rows: its words, its forms, which rows it shows and how they are written."""

    heading: str
    word: str
    anchor: str
    lead: str
    forms: type[row_forms.RowSet]
    rows: Callable[[Thing], Any]
    write: Callable[[Account, Thing, Sequence[RowChange]], None]
    twice: str


PEOPLE = RowsPage(
    "People", "Person", "people",
    "Write the name as the family knows it. A name that is new here becomes a new person under People.",
    row_forms.PersonRows, lambda thing: thing.person_rows.select_related("person"), link_actions.set_people,
    "Somebody would stand here twice as the same. Nothing was saved: remove one of the two, or change it.",
)  # fmt: skip
PLACES = RowsPage(
    "Places", "Place", "people",
    "Write the place as the family calls it. A name that is new here becomes a new place under Places.",
    row_forms.PlaceRows, lambda thing: thing.place_rows.select_related("place__within"), link_actions.set_places,
    "A place would stand here twice as the same. Nothing was saved: remove one of the two, or change it.",
)  # fmt: skip
INSCRIPTIONS = RowsPage(
    "What is written on it", "Inscription", "inscriptions",
    "Copy it letter by letter, with its mistakes and its lines, in whatever writing it stands there.",
    row_forms.InscriptionRows, lambda thing: thing.inscriptions.all(), link_actions.set_inscriptions, "",
)  # fmt: skip
PIECES = RowsPage(
    "Pieces", "Piece", "pieces",
    "Pieces are the leaves, sheets or frames of one thing, each with its number after a stroke. Parts of another "
    "material, such as the ribbon of a medal, stand with the thing itself.",
    row_forms.PieceRows, lambda thing: thing.pieces.prefetch_related("person_rows__person"), link_actions.set_pieces,
    "A piece number with the same side would stand here twice. Nothing was saved: change one of the two.",
)  # fmt: skip


@require_http_methods(_METHODS)
def people(request: HttpRequest, public_id: str) -> HttpResponse:
    return _rows(request, public_id, PEOPLE)


@require_http_methods(_METHODS)
def places(request: HttpRequest, public_id: str) -> HttpResponse:
    return _rows(request, public_id, PLACES)


@require_http_methods(_METHODS)
def inscriptions(request: HttpRequest, public_id: str) -> HttpResponse:
    return _rows(request, public_id, INSCRIPTIONS)


@require_http_methods(_METHODS)
def pieces(request: HttpRequest, public_id: str) -> HttpResponse:
    if request.method == "POST" and "last" in request.POST:
        return _make_pieces(request, public_id)
    return _rows(request, public_id, PIECES, make=section_forms.MakePiecesForm())


def _make_pieces(request: HttpRequest, public_id: str) -> HttpResponse:
    who = keeper_of(request)
    thing = queries.find_thing(public_id, who)
    form = section_forms.MakePiecesForm(request.POST)
    if not form.is_valid():
        return _rows(request, public_id, PIECES, make=form)
    made = link_actions.make_pieces(who, thing, form.cleaned_data["last"])
    if made:
        messages.success(request, f"{made} {'piece' if made == 1 else 'pieces'} made.")
    else:
        messages.info(request, "They are all there already.")
    return redirect("things:pieces", public_id=thing.public_id)


def _rows(request: HttpRequest, public_id: str, page: RowsPage, **more: Any) -> HttpResponse:
    """Show one page of rows, or save what was changed in it."""
    who = keeper_of(request)
    thing = queries.find_thing(public_id, who)
    shown = Paginator(page.rows(thing), row_forms.ROWS_ON_A_PAGE).get_page(request.GET.get("page", "1"))
    sent = request.method == "POST" and "last" not in request.POST
    # A row that is on another page now is still found by the sheet that was opened when it was on this one.
    named = [value for name, value in request.POST.items() if name.endswith("-row")]
    rows = list(page.rows(thing).filter(public_id__in=named) if sent else shown.object_list)
    forms = page.forms(request.POST if sent else None, rows=rows, who=who)
    trouble = ""
    if sent and forms.is_valid():
        changes = forms.changes()
        try:
            if changes:
                page.write(who, thing, changes)
        except TwiceTheSame:
            trouble = page.twice
        else:
            _say(request, changes)
            if "more" in request.POST:
                return redirect(request.get_full_path())
            return redirect(f"{thing.get_absolute_url()}#{page.anchor}")
    wrong = bool(trouble) or (sent and not forms.is_valid()) or bool(more.get("make") and more["make"].errors)
    context = {"thing": thing, "page": page, "forms": forms, "shown": shown, "trouble": trouble, **more}
    return render(request, "things/rows.html", context, status=422 if wrong else 200)


def _say(request: HttpRequest, changes: Sequence[RowChange]) -> None:
    if changes:
        messages.success(request, "Saved.")
    else:
        messages.info(request, "Nothing was changed.")


@require_http_methods(_METHODS)
def coming(request: HttpRequest, public_id: str) -> HttpResponse:
    return _section(request, public_id, section_forms.ComingForm, "things/coming.html")


@require_http_methods(_METHODS)
def rights(request: HttpRequest, public_id: str) -> HttpResponse:
    return _section(request, public_id, section_forms.RightsForm, "things/rights.html")


@require_http_methods(_METHODS)
def significance(request: HttpRequest, public_id: str) -> HttpResponse:
    form_class = section_forms.SignificanceForm
    return _section(request, public_id, form_class, "things/significance.html", levels=levels())


def _section(
    request: HttpRequest, public_id: str, form_class: type[SectionForm], template: str, **context: Any
) -> HttpResponse:
    """Show the form of one section of a thing's own fields, or save it without overwriting anybody."""
    who = keeper_of(request)
    thing = queries.find_thing(public_id, who)
    form = form_class(request.POST or None, thing=thing, who=who)
    if request.method == "POST" and form.is_valid():
        merged = merged_with(thing, form, request.POST.get("opened_version", ""))
        if merged.conflicts:
            return _section_page(request, template, thing, form, merged=merged, **context)
        if wanted := news(thing, merged):
            actions.set_fields(who, thing, wanted, form.verb)
        say_merged(request, merged)
        return redirect(f"{thing.get_absolute_url()}#{form.anchor}")
    return _section_page(request, template, thing, form, **context)


def merged_with(thing: Thing, form: SectionForm, opened: str) -> Merge:
    """Merge what a form wants with what somebody else may have saved since it was opened."""
    names = list(form.fields)
    theirs = {name: getattr(thing, name) for name in names}
    base: dict[str, Any] | None = None
    if opened != str(thing.version):
        try:
            base = state_at(thing, opened, names)
        except ObjectDoesNotExist:  # it pointed at somebody who was destroyed for good since
            base = dict.fromkeys(names)
    labels = {name: str(field.label) for name, field in form.fields.items()}
    mine = {name: form.cleaned_data[name] for name in names}
    return merge(base if base is not None else theirs, theirs, mine, labels)


def news(thing: Thing, merged: Merge) -> dict[str, Any]:
    """Return the values to write: all of the section's, or none where nothing would change."""
    return merged.values if any(getattr(thing, name) != value for name, value in merged.values.items()) else {}


def say_merged(request: HttpRequest, merged: Merge) -> None:
    """Say that it is saved, and what somebody else changed meanwhile."""
    if merged.theirs_kept:
        messages.info(request, f"Somebody else changed this meanwhile: {', '.join(merged.theirs_kept)}. Both are kept.")
    messages.success(request, "Saved.")


def _section_page(
    request: HttpRequest, template: str, thing: Thing, form: SectionForm, merged: Merge | None = None, **context: Any
) -> HttpResponse:
    conflicts = shown(merged.conflicts, form) if merged else []
    opened = thing.version if conflicts else request.POST.get("opened_version") or thing.version
    context |= {"thing": thing, "form": form, "conflicts": conflicts, "opened": opened}
    return render(request, template, context, status=409 if conflicts else 422 if form.errors else 200)


@require_http_methods(_METHODS)
def owners(request: HttpRequest, public_id: str) -> HttpResponse:
    """Shares and a loan to us stand on one page and are saved as one act."""
    who = keeper_of(request)
    thing = queries.find_thing(public_id, who)
    sent = request.POST if request.method == "POST" else None
    rows = list(thing.shares.select_related("person"))
    forms = row_forms.ShareRows(sent, rows=rows, who=who)
    form = section_forms.BorrowedForm(sent, thing=thing, who=who)
    context: dict[str, Any] = {"forms": forms, "trouble": trouble_with(row.part for row in rows)}
    if sent is not None and forms.is_valid() and form.is_valid():
        merged = merged_with(thing, form, request.POST.get("opened_version", ""))
        if merged.conflicts:
            return _section_page(request, "things/owners.html", thing, form, merged=merged, **context)
        changes, wanted = forms.changes(), news(thing, merged)
        try:
            if changes or wanted:
                link_actions.set_owners(who, thing, changes, wanted)
        except TwiceTheSame:
            form.add_error(None, "Somebody would be named here twice. Nothing was saved: remove one of the two.")
        else:
            say_merged(request, merged)
            if words := trouble_with(thing.shares.values_list("part", flat=True)):
                messages.warning(request, words)
            return redirect(f"{thing.get_absolute_url()}#coming")
    page = _section_page(request, "things/owners.html", thing, form, **context)
    page.status_code = 422 if sent is not None and page.status_code == 200 else page.status_code
    return page
