"""Pages of lots."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from archive import extend
from archive.access.permissions import reader, role_of
from archive.access.views import keeper_of
from archive.sorting import lot_actions, lot_queries
from archive.sorting.editing import merged, take_pictures
from archive.sorting.lot_forms import LOT_PICTURES, AgainForm, ApartForm, LotForm, NumbersForm
from archive.sorting.models import GONE, Lot

_VIEWS = [(view, name) for view, name, _ in LOT_PICTURES]


def _status(form: Any, refused: Any = ()) -> int:
    return 422 if form.errors or refused else 200


@require_safe
def lots(request: HttpRequest) -> HttpResponse:
    who = reader(request.user)
    page = lot_queries.list_page(who, request.GET.get("page", "1"))
    rows = list(page.object_list)
    first = lot_queries.first_picture_of(rows)
    context = {
        "page": page,
        "rows": [{"lot": lot, "picture": first.get(lot.pk)} for lot in rows],
        "today": timezone.localdate(),
    }
    return render(request, "sorting/lots.html", context)


@require_safe
def lot(request: HttpRequest, lot_id: str) -> HttpResponse:
    who = reader(request.user)
    found = lot_queries.find_lot(lot_id, who)
    page, members = lot_queries.members_page(found, who, request.GET.get("page", "1"))
    pictures, wrappers = lot_queries.pictures_of(found)
    context = {
        "lot": found,
        "origin": lot_queries.origin(found, who),
        "page": page,
        "members": members,
        "pictures": pictures,
        "wrappers": wrappers,
        "panels": extend.lot_panels(found, who),
        "may_write": role_of(request.user) == "keeper",
        "gone": GONE,
        "today": timezone.localdate(),
    }
    return render(request, "sorting/lot.html", context)


@require_safe
def as_it_came(request: HttpRequest, lot_id: str) -> HttpResponse:
    """The lot in its first order, to look at and to print; what has left since stands in it still."""
    who = reader(request.user)
    found = lot_queries.find_lot(lot_id, who)
    pictures, wrappers = lot_queries.pictures_of(found)
    context = {
        "lot": found,
        "origin": lot_queries.origin(found, who),
        "members": lot_queries.all_members(found, who),
        "pictures": pictures,
        "wrappers": wrappers,
        "gone": GONE,
    }
    return render(request, "sorting/as_it_came.html", context)


def _picture_fields(taken: Any) -> list[dict[str, Any]]:
    held = dict(taken)
    return [{"name": name, "label": label, "held": held.get(view, [])} for view, name, label in LOT_PICTURES]


@require_http_methods(["GET", "HEAD", "POST"])
def add_lot(request: HttpRequest) -> HttpResponse:
    who = keeper_of(request)
    form = LotForm(request.POST or None, reader=who)
    taken: Any = []
    refused: Any = []
    if request.method == "POST":
        taken, refused = take_pictures(request, _VIEWS)
        if form.is_valid() and not (refused and not request.POST.get("without_refused")):
            made = lot_actions.add_lot(who, form.cleaned_data, taken)
            messages.success(request, f"Saved as {made.number}. Now say what is in it, in the order in which it lay.")
            return redirect("sorting:lot_members", made.public_id)
    context = {"form": form, "pictures": _picture_fields(taken), "refused": refused}
    return render(request, "sorting/lot_form.html", context, status=_status(form, refused))


@require_http_methods(["GET", "HEAD", "POST"])
def edit_lot(request: HttpRequest, lot_id: str) -> HttpResponse:
    """Change what is said of a lot; once it is accepted, only its name, its note and who may see it."""
    who = keeper_of(request)
    found = lot_queries.find_lot(lot_id, who)
    only = lot_actions.ALWAYS if found.accepted_at is not None else ()
    names = list(LotForm(reader=who, only=only).fields)
    initial = {name: getattr(found, name) for name in names}
    form = LotForm(request.POST or None, reader=who, only=only, initial=initial)
    conflicts: Any = []
    if request.method == "POST" and form.is_valid():
        merge = merged(found, names, form.cleaned_data, request.POST.get("opened_version", ""), form)
        conflicts = merge.conflicts
        if not conflicts:
            lot_actions.edit_lot(who, found, merge.values)
            if merge.theirs_kept:
                told = ", ".join(merge.theirs_kept)
                messages.info(request, f"Somebody else changed this meanwhile: {told}. Both are kept.")
            messages.success(request, "Saved.")
            return redirect(found)
    opened = (not conflicts and request.POST.get("opened_version")) or found.version
    context = {"lot": found, "form": form, "conflicts": conflicts, "opened": opened}
    return render(request, "sorting/lot_form.html", context, status=409 if conflicts else _status(form))


@require_http_methods(["GET", "HEAD", "POST"])
def lot_pictures(request: HttpRequest, lot_id: str) -> HttpResponse:
    who = keeper_of(request)
    found = lot_queries.find_lot(lot_id, who)
    refused: Any = []
    if request.method == "POST" and found.accepted_at is None:
        taken, refused = take_pictures(request, _VIEWS)
        added = lot_actions.add_pictures(who, found, taken) if any(files for _, files in taken) else 0
        if added:
            messages.success(request, f"{added} {'picture' if added == 1 else 'pictures'} added.")
        elif not refused:
            messages.warning(request, "No file was chosen.")
        if not refused:
            return redirect(found)
    context = {"lot": found, "pictures": _picture_fields([]), "refused": refused}
    return render(request, "sorting/lot_pictures.html", context, status=422 if refused else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def lot_members(request: HttpRequest, lot_id: str) -> HttpResponse:
    """Add by number, set the first order, say where things lay, and take out again what came by mistake."""
    who = keeper_of(request)
    found = lot_queries.find_lot(lot_id, who)
    adding = request.POST.get("act") == "add"
    form = NumbersForm(request.POST if adding else None)
    page, members = lot_queries.members_page(found, who, request.GET.get("page", "1"))
    if request.method == "POST" and found.accepted_at is None:
        if adding and form.is_valid():
            read = lot_queries.read_numbers(form.cleaned_data["numbers"], who)
            for trouble in read.troubles:
                form.add_error("numbers", trouble)
            if not read.troubles and _added(request, who, found, read.found, form):
                return redirect(request.get_full_path())
        elif not adding:
            _arrange(request, who, found, members)
            return redirect(request.get_full_path())
    context = {"lot": found, "form": form, "page": page, "members": members}
    return render(request, "sorting/lot_members.html", context, status=_status(form))


def _added(request: HttpRequest, who: Any, found: Lot, records: list[Any], form: NumbersForm) -> bool:
    try:
        new = lot_actions.add_members(who, found, records, form.cleaned_data["found_where"])
    except lot_actions.InAnotherLot as error:
        form.add_error("numbers", str(error))
        return False
    messages.success(request, f"{new} added." if new else "All of these are in the lot already.")
    return True


def _arrange(request: HttpRequest, who: Any, found: Lot, members: list[lot_queries.Member]) -> None:
    """Save the places and words of one page of members; a place that is no number stays as it was."""
    rows, out = [], []
    for member in members:
        record, code = member.record, member.code
        if f"place-{code}" not in request.POST:
            continue  # it came into the lot since the page was opened
        if request.POST.get(f"out-{code}"):
            out.append(record)
            continue
        typed = request.POST[f"place-{code}"].strip()
        place = int(typed) if typed.isdecimal() and len(typed) < 7 else record.lot_position
        words = request.POST.get(f"where-{code}", getattr(record, "found_where", "")).strip()[:300]
        rows.append((record, place, words))
    lot_actions.arrange(who, found, rows, out)
    messages.success(request, "Saved." if not out else f"Saved; {len(out)} taken out.")


@require_http_methods(["GET", "HEAD", "POST"])
def accept(request: HttpRequest, lot_id: str) -> HttpResponse:
    """Accept a lot as it came, after one more look at it."""
    who = keeper_of(request)
    found = lot_queries.find_lot(lot_id, who)
    changed = request.method == "POST" and request.POST.get("seen") != lot_queries.state_of(found)
    if request.method == "POST" and not changed:
        lot_actions.accept(who, found)
        messages.success(request, "Accepted. It stays as it came; the history can undo this.")
        return redirect(found)
    pictures, wrappers = lot_queries.pictures_of(found)
    context = {
        "lot": found,
        "changed": changed,
        "seen": lot_queries.state_of(found),
        "pictures": len(pictures),
        "wrappers": len(wrappers),
        "members": len(lot_queries.all_members(found, who)),
    }
    return render(request, "sorting/accept.html", context, status=409 if changed else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def quarantine(request: HttpRequest, lot_id: str) -> HttpResponse:
    """Keep a lot apart until a day; then write down what was seen, and release it or keep it apart for longer."""
    who = keeper_of(request)
    found = lot_queries.find_lot(lot_id, who)
    again = found.quarantine_until is not None
    form: Any = AgainForm(request.POST or None) if again else ApartForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        if not again:
            lot_actions.keep_apart(who, found, data["until"], data["why"])
            messages.success(request, "Kept apart. On the day it stands among what to do.")
            return redirect(found)
        until = data["until"] if data["outcome"] == "prolong" else None
        try:
            lot_actions.look_again(who, found, data["seen"], until)
        except lot_actions.TooLong as error:
            form.add_error("seen", str(error))
        else:
            messages.success(request, "Saved. It stays apart." if until else "Saved. It joins the others.")
            return redirect(found)
    return render(
        request, "sorting/quarantine.html", {"lot": found, "form": form, "again": again}, status=_status(form)
    )
