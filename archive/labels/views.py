"""Choosing labels and making a sheet of them."""

from __future__ import annotations

import contextlib

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from archive.access.changes import AlreadyDone
from archive.access.views import keeper_of
from archive.labels import actions, queries
from archive.labels.addresses import address_may_change
from archive.labels.forms import SheetForm
from archive.labels.layouts import usual_layout
from archive.labels.queries import Labelled
from archive.labels.sheet import Label, draw_sheet, undrawable
from archive.preferences.queries import preferences

SHOWN_AT_ONCE = 40


@require_http_methods(["GET", "HEAD", "POST"])
def make(request: HttpRequest) -> HttpResponse:
    """Choose what gets labels, and a sheet; sending the form answers with the PDF."""
    who = keeper_of(request)
    kept = preferences()
    known = kept.label_sheet
    beginning = {
        "layout": usual_layout(kept.paper), "own_page": kept.paper, "right_mm": known.get("right_mm", 0),
        "down_mm": known.get("down_mm", 0), **known.get("own", {}),
    }  # fmt: skip
    form = SheetForm(request.POST or None, initial=beginning)
    asked = request.POST or request.GET
    typed = queries.typed_numbers(asked.get("numbers", "")[:20_000], who)
    chosen = [int(each) for each in asked.getlist("pick") if each.isdecimal() and len(each) < 12]
    chosen += queries.serials_of_things(asked.getlist("thing"), who) + typed.serials
    if request.method != "POST":
        for box in request.GET.getlist("box")[:20]:
            chosen += queries.in_box(box, who)
        for lot in request.GET.getlist("lot")[:20]:
            chosen += queries.in_lot(lot, who)
    rows = queries.labelled(chosen, who)
    if request.method == "POST" and form.is_valid():
        if typed.troubles:
            form.add_error(None, " ".join(typed.troubles[:12]))
        elif not rows:
            form.add_error(None, "Tick at least one line, or type a number, to print a label for it.")
        elif len(chosen) > queries.MOST:
            form.add_error(None, f"At most {queries.MOST:,} labels go into one sheet. Make it in several goes.")
        else:
            return _pdf(request, form, rows)
    others = [each for each in queries.latest(who, SHOWN_AT_ONCE) if each not in set(chosen)]
    context = {
        "form": form,
        "rows": rows,
        "others": queries.labelled(others, who),
        "hollow": undrawable(row.title for row in rows if not row.private),
        "numbers": asked.get("numbers", ""),
        "may_change": address_may_change(request.build_absolute_uri("/")),
        "base": request.build_absolute_uri("/"),
    }
    return render(request, "labels/make.html", context, status=422 if form.errors else 200)


def _label(request: HttpRequest, row: Labelled, content: str) -> Label:
    address = request.build_absolute_uri(reverse("tag", args=[row.number]))
    title = "" if row.private else row.title
    return Label(number=row.number, title=title, qr_text=row.number if content == "number" else address)


def _pdf(request: HttpRequest, form: SheetForm, rows: list[Labelled]) -> HttpResponse:
    who, values = keeper_of(request), form.cleaned_data
    sheet = draw_sheet(
        [_label(request, row, values["content"]) for row in rows],
        values["sheet"],
        start=values["start"],
        nudge_mm=(values["right_mm"], values["down_mm"]),
        outline=values["outline"],
        ruler=values["ruler"],
    )
    # Made a second time from the same form, the sheet is drawn again and noted once.
    with contextlib.suppress(AlreadyDone):
        actions.note_printed(who, values["layout"], [row.serial for row in rows])
        actions.remember_printer(who, form.own_values(), values["right_mm"], values["down_mm"])
    response = HttpResponse(sheet.pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="kistbook-labels.pdf"'
    return response


@require_safe
def printed(request: HttpRequest) -> HttpResponse:
    """What was printed when."""
    return render(request, "labels/printed.html", {"sheets": queries.sheets()})


@require_safe
def marking(request: HttpRequest) -> HttpResponse:
    """Where and with what each kind of thing is marked, and what never."""
    from archive.kinds import FAMILIES, kinds

    families = [(family, [each for each in kinds() if each.family == family.code]) for family in FAMILIES]
    return render(request, "labels/marking.html", {"families": families})
