"""Choosing labels and making a sheet of them."""

from __future__ import annotations

import contextlib

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from archive.access.changes import AlreadyDone
from archive.access.views import keeper_of
from archive.labels import actions, queries
from archive.labels.addresses import address_may_change
from archive.labels.forms import SheetForm
from archive.labels.layouts import layout, usual_layout
from archive.labels.sheet import Label, draw_sheet
from archive.preferences.queries import preferences
from archive.things.models import Thing

SHOWN_AT_ONCE = 200


@require_http_methods(["GET", "HEAD", "POST"])
def make(request: HttpRequest) -> HttpResponse:
    """Choose things and a sheet; sending the form answers with the PDF."""
    who = keeper_of(request)
    form = SheetForm(request.POST or None, initial={"layout": usual_layout(preferences().paper)})
    chosen = request.POST.getlist("thing") or request.GET.getlist("thing")
    if request.method == "POST" and form.is_valid():
        things = list(Thing.objects.visible_to(who).filter(public_id__in=chosen))
        if things:
            things.sort(key=lambda each: chosen.index(each.public_id))
            return _pdf(request, form, things)
        form.add_error(None, "Tick at least one thing to print a label for.")
    context = {
        "form": form,
        "things": queries.choice(who, SHOWN_AT_ONCE, chosen),
        "chosen": set(chosen),
        "may_change": address_may_change(request.build_absolute_uri("/")),
        "base": request.build_absolute_uri("/"),
    }
    return render(request, "labels/make.html", context, status=422 if form.errors else 200)


def _pdf(request: HttpRequest, form: SheetForm, things: list[Thing]) -> HttpResponse:
    values = form.cleaned_data
    labels = [
        Label(
            number=thing.number,
            title=thing.title,
            qr_text=(
                thing.number
                if values["content"] == "number"
                else request.build_absolute_uri(reverse("tag", args=[thing.number]))
            ),
        )
        for thing in things
    ]
    sheet = draw_sheet(
        labels,
        layout(values["layout"]),
        start=values["start"],
        nudge_mm=(values["right_mm"], values["down_mm"]),
        outline=values["outline"],
        ruler=values["ruler"],
    )
    # Made a second time from the same form, the sheet is drawn again and noted once.
    with contextlib.suppress(AlreadyDone):
        actions.note_printed(keeper_of(request), values["layout"], [thing.serial_id for thing in things])
    response = HttpResponse(sheet.pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="kistbook-labels.pdf"'
    return response
