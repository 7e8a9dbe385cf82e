"""Quick entry, the word that says what a typed box or lot is, and the page after many were recorded."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from archive.access.models import Account
from archive.access.views import keeper_of
from archive.entry import actions, queries
from archive.entry.forms import KEEPABLE, PEOPLE_ROWS, QuickForm
from archive.kinds import kinds
from archive.numbers import number_of
from archive.people.queries import NewName
from archive.pictures.actions import Refused, TakenIn, held, take_in
from archive.preferences.queries import preferences, understood

# Acts of many things whose results the page `done` shows, and what it says of them.
DONE = {
    "entry.pictures": "recorded with their pictures",
    "entry.batch": "changed",
    "moving.paste": "recorded from your rows",
}


def offered(who: Account) -> dict[str, Any]:
    """Return the lists that fields offer while one types."""
    return {"kinds": kinds(), "boxes": queries.boxes_offered(who), "lots": queries.lots_offered(who)}


@require_http_methods(["GET", "HEAD", "POST"])
def quick(request: HttpRequest) -> HttpResponse:
    """One thing after the other, on one screen."""
    who = keeper_of(request)
    if request.method == "POST":
        return _quick_save(request, who)
    sitting = queries.sitting(who, request.GET.get("first", ""), request.GET.get("last", ""))
    keep = [name for name, _ in KEEPABLE if name in request.GET.getlist("keep")]
    form = QuickForm(reader=who, initial=_begins_with(sitting, keep))
    return _quick_page(request, form, sitting, first=request.GET.get("first", ""))


def _quick_save(request: HttpRequest, who: Account) -> HttpResponse:
    kept = preferences()
    form = QuickForm(request.POST, reader=who)
    finishing = request.POST.get("do") == "finish"
    fresh, refused = take_in(request.FILES.getlist("pictures"))
    taken = [*held(request.POST.getlist("held")), *fresh]
    first, last = request.POST.get("first", ""), request.POST.get("last", "")
    if finishing and last and not request.POST.get("title", "").strip() and not (taken or refused):
        return redirect("things:list")  # the last sheet was left empty
    if form.is_valid() and not (refused and not request.POST.get("without_refused")):
        new_people = [value.name for value, _ in form.people() if isinstance(value, NewName)]
        thing, change_set = actions.quick_add(who, form.values(), form.people(), taken, kept)
        if new_people:
            messages.info(request, f"New among the people: {', '.join(dict.fromkeys(new_people))}.")
        if finishing:
            messages.success(request, f"Saved as {thing.number}.")
            return redirect(thing)
        query = QueryDict(mutable=True)
        query["first"], query["last"] = first or change_set.public_id, change_set.public_id
        query.setlist("keep", form.cleaned_data["keep"])
        return redirect(f"{reverse('entry:quick')}?{query.urlencode()}")
    sitting = queries.sitting(who, first, last)
    return _quick_page(request, form, sitting, first=first, last=last, taken=taken, refused=refused)


def _begins_with(sitting: queries.Sitting, keep: list[str]) -> dict[str, Any]:
    """Return what the next sheet begins with: the ticked fields of the last thing; all, where it was taken back."""
    thing = sitting.last or sitting.undone
    if thing is None or sitting.change_set is None:
        return {"keep": keep}
    initial: dict[str, Any] = {
        "title": thing.title,
        "kind": "" if thing.kind_code == "unknown" else thing.kind_code,
        "made_text": thing.made_text,
        "box": thing.box,
        "lot": thing.lot,
        "note": thing.note,
        "access": thing.access,
    }
    if sitting.undone is None:
        initial = {name: value for name, value in initial.items() if name in keep}
    if sitting.undone is not None or "people" in keep:
        rows = queries.people_rows_of(sitting.change_set)
        for n, (person, role) in zip(PEOPLE_ROWS, rows, strict=False):
            initial |= {f"person{n}": person, f"role{n}": role}
    return initial | {"keep": keep}


def _quick_page(
    request: HttpRequest,
    form: QuickForm,
    sitting: queries.Sitting,
    *,
    first: str,
    last: str = "",
    taken: list[TakenIn] | None = None,
    refused: list[Refused] | None = None,
) -> HttpResponse:
    who = keeper_of(request)
    wrong = bool(form.errors or refused)
    context = {
        "form": form,
        "sitting": sitting,
        "first": first,
        "last": last or request.GET.get("last", ""),
        "taken": taken or [],
        "refused": refused or [],
        "box": form["box"].initial,
        "lot": form["lot"].initial,
        "here": request.get_full_path() if request.method == "GET" else reverse("entry:quick"),
        **offered(who),
    }
    return render(request, "entry/quick.html", context, status=422 if wrong else 200)


@require_safe
def word(request: HttpRequest) -> HttpResponse:
    """Say what a typed kind, box, lot or date is, while it is being typed."""
    finder = queries.Finder(keeper_of(request))
    said, wrong = "", False
    try:
        if typed := request.GET.get("box", "").strip():
            said = str(finder.box(typed[:400]))
        elif typed := request.GET.get("lot", "").strip():
            said = str(finder.lot(typed[:400]))
        elif typed := request.GET.get("made_text", "").strip():
            return render(request, "things/_date_echo.html", {"made": understood(typed, preferences())})
    except queries.NotNamed as error:
        said, wrong = str(error), True
    return render(request, "entry/_word.html", {"said": said, "wrong": wrong})


@require_safe
def done(request: HttpRequest, public_id: str) -> HttpResponse:
    """What an act of many things did: how many, their numbers, and the way back."""
    who = keeper_of(request)
    change_set = queries.change_set_of(public_id, DONE)
    things = queries.things_of(change_set, who)
    page, rows = queries.thing_rows(things, request.GET.get("page", "1"), who)
    serials = list(things.values_list("serial_id", flat=True))
    context = {
        "change_set": change_set,
        "what": DONE[change_set.verb],
        "count": len(serials),
        "from_number": number_of(serials[0]) if serials else "",
        "to_number": number_of(serials[-1]) if serials else "",
        "page": page,
        "rows": rows,
        "undone": change_set.undone_by.exists(),
    }
    return render(request, "entry/done.html", context)
