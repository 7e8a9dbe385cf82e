"""Lending a thing, having it back, and the slip that goes with it."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from archive import extend
from archive.access.views import keeper_of
from archive.things import loan_actions, queries
from archive.things.loan_actions import AlreadyLent
from archive.things.loan_terms import terms
from archive.things.models import Loan, Thing
from archive.things.section_forms import LoanForm

_STILL_OUT = "It is lent already. Say first that it came back."


def _find(thing: Thing, loan_id: str) -> Loan:
    loan = thing.loans.select_related("person").filter(public_id=loan_id).first()
    if loan is None:
        raise Http404
    loan.thing = thing
    return loan


@require_http_methods(["GET", "HEAD", "POST"])
def loans(request: HttpRequest, public_id: str) -> HttpResponse:
    """Lend it, and see to whom it was lent before."""
    who = keeper_of(request)
    thing = queries.find_thing(public_id, who)
    form = LoanForm(request.POST or None, who=who, initial={"since": timezone.localdate()})
    if request.method == "POST" and form.is_valid():
        try:
            loan = loan_actions.lend(who, thing, form.cleaned_data)
        except AlreadyLent:
            form.add_error(None, _STILL_OUT)
        else:
            messages.success(request, "Saved. Print the slip and have both sign it before it leaves.")
            return redirect("things:slip", public_id=thing.public_id, loan_id=loan.public_id)
    rows = list(thing.loans.select_related("person"))
    context = {
        "thing": thing,
        "form": form,
        "open": next((loan for loan in rows if loan.returned_on is None), None),
        "past": [loan for loan in rows if loan.returned_on is not None],
        "today": timezone.localdate(),
    }
    return render(request, "things/loans.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def loan(request: HttpRequest, public_id: str, loan_id: str) -> HttpResponse:
    """Change what is written down about a loan, say that it came back, or take it away."""
    who = keeper_of(request)
    thing = queries.find_thing(public_id, who)
    found = _find(thing, loan_id)
    act = request.POST.get("act", "")
    if act == "back":
        loan_actions.come_back(who, found, timezone.localdate())
        messages.success(request, "Good: it is back. Look at its condition and put it in its box.")
        return redirect(f"{thing.get_absolute_url()}#loans")
    if act == "remove":
        loan_actions.remove_loan(who, found)
        messages.success(request, "Taken away. The history can bring it back.")
        return redirect("things:loans", public_id=thing.public_id)
    names = ("person", "to_text", "since", "until", "note", "returned_on")
    initial = {name: getattr(found, name) for name in names}
    form = LoanForm(request.POST or None, who=who, loan=found, initial=initial)
    opened = request.POST.get("opened_version") or str(found.version)
    if request.method == "POST" and form.is_valid():
        if opened != str(found.version):
            opened = str(found.version)
            form.add_error(
                None, "Somebody else changed this loan meanwhile. Look at it, then save again to let yours stand."
            )
        else:
            try:
                loan_actions.change_loan(who, found, form.cleaned_data)
            except AlreadyLent:
                form.add_error("returned_on", _STILL_OUT)
            else:
                messages.success(request, "Saved.")
                return redirect("things:loans", public_id=thing.public_id)
    context = {"thing": thing, "loan": found, "form": form, "opened": opened}
    return render(request, "things/loan.html", context, status=422 if form.errors else 200)


@require_safe
def slip(request: HttpRequest, public_id: str, loan_id: str) -> HttpResponse:
    """The slip that both sign: what goes, in what condition, to whom, until when, and how to treat it."""
    who = keeper_of(request)
    thing = queries.find_thing(public_id, who)
    panels = extend.panels(thing, who)
    context = {
        "thing": thing,
        "loan": _find(thing, loan_id),
        "picture": thing.pictures.first(),
        "owners": list(thing.shares.select_related("person")),
        "hazards": [panel for panel in panels if panel.first],
        "care": [*(line for panel in panels for line in panel.brief), *terms()],
    }
    return render(request, "things/slip.html", context)
