"""Signing in, invitations, histories, undo, withdrawing and destroying for good."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import authenticate, login, logout, update_session_auth_hash
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from archive.access import actions, forms, queries
from archive.access.middleware import from_this_computer
from archive.access.models import Account, Invitation
from archive.access.permissions import reader
from archive.access.subjects import subject
from archive.access.undo import CannotUndo, undo
from archive.keeping import firstcode
from archive.preferences.actions import begin_with

_BACKEND = "django.contrib.auth.backends.ModelBackend"


def _page(request: HttpRequest, template: str, **context: Any) -> HttpResponse:
    form = context.get("form")
    return render(request, template, context, status=422 if form is not None and form.errors else 200)


def keeper_of(request: HttpRequest) -> Account:
    """Return the account of a request that the gate let through as signed in."""
    account = reader(request.user)
    if account is None:
        raise Http404
    return account


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def first_keeper(request: HttpRequest) -> HttpResponse:
    if Account.objects.exists():
        return redirect("access:sign_in")
    form = forms.FirstKeeperForm(request.POST or None)
    here = from_this_computer(request)
    if here:
        del form.fields["code"]
    if request.method == "POST" and form.is_valid():
        if not here and not firstcode.check(form.cleaned_data["code"]):
            form.add_error("code", "That is not the code. It stands in the window in which Kistbook was started.")
        elif account := _made(
            form, lambda d: actions.make_first_keeper(d["username"], d["display_name"], d["password"])
        ):
            begin_with({"home_name": form.cleaned_data["home_name"]})
            login(request, account, backend=_BACKEND)
            messages.success(request, f"Welcome, {account}. This archive is yours to keep.")
            return redirect("home")
    return _page(request, "access/first_keeper.html", form=form, here=here)


def _made(form: Any, make: Any) -> Account | None:
    """Make an account from a form, or put what stands against it beside the field it concerns."""
    try:
        account: Account = make(form.cleaned_data)
    except actions.NameTaken:
        form.add_error("username", "Somebody signs in with this name already. Choose another.")
    except ValidationError as error:
        form.add_error("password", error)
    else:
        return account
    return None


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    if not Account.objects.exists():
        return redirect("access:first_keeper")
    form = forms.SignInForm(request.POST or None)
    goal = request.POST.get("next") or request.GET.get("next") or "/"
    if request.method == "POST" and form.is_valid():
        account = authenticate(
            request,
            username=form.cleaned_data["username"].strip().casefold(),
            password=form.cleaned_data["password"],
        )
        if account is not None:
            login(request, account)
            request.session.pop("signed_out", None)
            safe = url_has_allowed_host_and_scheme(goal, allowed_hosts={request.get_host()})
            return redirect(goal if safe else "/")
        if getattr(request, "axes_locked_out", False):
            return locked_out(request)
        form.add_error(None, "The name and the password do not belong together. Try again.")
    return _page(request, "access/sign_in.html", form=form, next=goal)


def locked_out(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
    """Say that there were too many tries, with the same words whether or not the name exists."""
    return render(
        request,
        "access/locked_out.html",
        {"minutes": int(settings.AXES_COOLOFF_TIME.total_seconds() // 60)},
        status=429,
    )


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    request.session["signed_out"] = True
    return redirect("access:sign_in")


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def password(request: HttpRequest) -> HttpResponse:
    account = keeper_of(request)
    form = forms.PasswordForm(account, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            actions.set_password(account, form.cleaned_data["new"])
        except ValidationError as error:
            form.add_error("new", error)
        else:
            update_session_auth_hash(request, account)
            messages.success(request, "Your password is changed.")
            return redirect("home")
    return _page(request, "access/password.html", form=form)


@require_GET
def people(request: HttpRequest) -> HttpResponse:
    return _page(request, "access/people.html", accounts=queries.accounts(), invitations=queries.open_invitations())


@require_http_methods(["GET", "HEAD", "POST"])
def invite(request: HttpRequest) -> HttpResponse:
    form = forms.InviteForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        invitation, secret = actions.invite(
            keeper_of(request), form.cleaned_data["display_name"], form.cleaned_data["role"]
        )
        # The link is drawn in the answer itself: it is shown once and kept nowhere.
        return render(request, "access/invited.html", {"invitation": invitation, "secret": secret})
    return _page(request, "access/invite.html", form=form)


@require_POST
def withdraw_invitation(request: HttpRequest, public_id: str) -> HttpResponse:
    invitation = Invitation.objects.filter(public_id=public_id).first()
    if invitation is None:
        raise Http404
    actions.withdraw_invitation(keeper_of(request), invitation)
    messages.success(request, "That invitation no longer opens anything.")
    return redirect("access:people")


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def accept_invitation(request: HttpRequest, secret: str) -> HttpResponse:
    try:
        invitation = actions.open_invitation(secret)
    except actions.InvitationOver:
        return render(request, "access/invitation_over.html", status=404)
    form = forms.NewAccountForm(request.POST or None, initial={"display_name": invitation.display_name})
    if request.method == "POST" and form.is_valid():
        try:
            account = _made(
                form,
                lambda d: actions.accept_invitation(secret, d["username"], d["display_name"], d["password"]),
            )
        except actions.InvitationOver:
            return render(request, "access/invitation_over.html", status=404)
        if account is not None:
            login(request, account, backend=_BACKEND)
            return redirect("home")
    return _page(request, "access/accept_invitation.html", form=form, invitation=invitation)


@require_POST
def account(request: HttpRequest, public_id: str) -> HttpResponse:
    found = Account.objects.filter(public_id=public_id).first()
    if found is None:
        raise Http404
    active = request.POST.get("active") == "1"
    try:
        actions.set_active(keeper_of(request), found, active)
    except ValueError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{found} can sign in again." if active else f"{found} can no longer sign in.")
    return redirect("access:people")


@require_GET
def history(request: HttpRequest, code: str, public_id: str) -> HttpResponse:
    kind = subject(code)
    record = queries.find_record(kind, public_id, reader(request.user))
    entries = queries.history_of(record, reader(request.user))
    page = Paginator(entries, queries.ACTS_ON_A_PAGE).get_page(request.GET.get("page", "1"))
    return _page(
        request, "access/history.html", record=record, subject=kind, url=kind.url(record), entries=page, page=page
    )


@require_POST
def undo_change(request: HttpRequest, public_id: str) -> HttpResponse:
    change_set = queries.change_set(public_id)
    goal = request.POST.get("next", "/")
    if not url_has_allowed_host_and_scheme(goal, allowed_hosts={request.get_host()}):
        goal = "/"
    try:
        undo(change_set, keeper_of(request))
    except CannotUndo as error:
        return render(
            request,
            "access/cannot_undo.html",
            {"change_set": change_set, "clashes": error.clashes, "next": goal},
            status=409,
        )
    messages.success(request, "Undone.")
    return redirect(goal)


@require_http_methods(["GET", "HEAD", "POST"])
def withdraw(request: HttpRequest, code: str, public_id: str) -> HttpResponse:
    kind = subject(code)
    record = queries.find_record(kind, public_id, reader(request.user))
    form = forms.ReasonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        actions.withdraw(keeper_of(request), record, form.cleaned_data["reason"])
        messages.success(request, "Withdrawn. Only you can see it now, and you can bring it back.")
        return redirect("access:withdrawn")
    return _page(request, "access/withdraw.html", form=form, record=record, subject=kind, url=kind.url(record))


@require_POST
def bring_back(request: HttpRequest, code: str, public_id: str) -> HttpResponse:
    kind = subject(code)
    record = queries.find_record(kind, public_id, reader(request.user))
    actions.bring_back(keeper_of(request), record)
    messages.success(request, "It is back.")
    return redirect(kind.url(record))


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def destroy(request: HttpRequest, code: str, public_id: str) -> HttpResponse:
    from archive.keeping.snapshots import holding

    kind = subject(code)
    record = queries.find_record(kind, public_id, reader(request.user))
    who = keeper_of(request)
    form = forms.DestroyForm(who, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            actions.destroy(who, kind, record, form.cleaned_data["reason"])
        except ValueError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Destroyed. A note that it existed stays in the list below.")
            return redirect("access:withdrawn")
    return _page(
        request,
        "access/destroy.html",
        form=form,
        record=record,
        subject=kind,
        url=kind.url(record),
        copies=holding(record.created_at),
    )


@require_GET
def withdrawn(request: HttpRequest) -> HttpResponse:
    from archive.keeping.snapshots import holding

    stones = [(stone, holding(stone.born_at, until=stone.at)) for stone in queries.tombstones()]
    rows = [(kind, record, kind.url(record)) for kind, record in queries.withdrawn_records()]
    return _page(request, "access/withdrawn.html", rows=rows, tombstones=stones)
