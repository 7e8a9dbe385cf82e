"""At the door of every page: who asks, may they, and has this form acted before."""

from __future__ import annotations

import hashlib
import secrets
import time
import zoneinfo
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.views import redirect_to_login
from django.core import signing
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from archive.access import permissions
from archive.access.changes import AlreadyDone, ChangedMeanwhile, FormUse, using_form
from archive.access.models import Account, ActedForm
from archive.access.undo import NotAllowed
from archive.once import one_page

GetResponse = Callable[[HttpRequest], HttpResponseBase]
FORM_FIELD = "form_id"
# A second sending may arrive while the first is still being written.
_WAIT_SECONDS = 3.0
_SAMPLES, _SAMPLE_BYTES = 33, 4096
# How often a page is carried out anew because somebody else saved between its reading and its writing.
_TRIES = 3
_MEANWHILE = "Somebody else saved a change to the same record at this very moment. Send yours once more."


def from_this_computer(request: HttpRequest) -> bool:
    """Say whether a request comes from the computer that Kistbook runs on."""
    address = request.META.get("REMOTE_ADDR", "")
    return (address == "::1" or address.startswith("127.")) and "HTTP_X_FORWARDED_FOR" not in request.META


class SameComputer:
    """In the demo this computer is signed in as the demo's keeper, until somebody signs out."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if (
            settings.DEMO
            and not request.user.is_authenticated
            and not request.session.get("signed_out")
            and from_this_computer(request)
        ):
            keeper = Account.objects.filter(role="keeper", is_active=True).order_by("pk").first()
            if keeper is not None:
                login(request, keeper, backend="django.contrib.auth.backends.ModelBackend")
        return self.get_response(request)


class Gate:
    """Refuses every route that the table in `permissions.py` does not open to this reader."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        if "Cache-Control" not in response:
            # A shared phone must not show the last reader's pages to the next one.
            response["Cache-Control"] = "private, no-store"
        return response

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: Any
    ) -> HttpResponseBase | None:
        match = request.resolver_match
        route = match.view_name if match else ""
        if permissions.may_open(request.user, route):
            return None
        if not request.user.is_authenticated and permissions.route_role(route) is not None:
            if not Account.objects.exists():
                return redirect("access:first_keeper")
            if request.method in ("GET", "HEAD") and not getattr(request, "htmx", False):
                return redirect_to_login(request.get_full_path(), reverse("access:sign_in"))
        raise Http404


class HomeZone:
    """Times on pages are those of the home's clock."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        from archive.preferences.queries import preferences, read_once

        with one_page(), read_once(), timezone.override(zoneinfo.ZoneInfo(preferences().zone)):
            return self.get_response(request)


class ActOnce:
    """A form sent twice acts once: its second sending gets the first one's answer."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if request.method != "POST":
            return self.get_response(request)
        form = _form_use(request)
        with using_form(form):
            response = self.get_response(request)
        if form is not None and form.acted and response.status_code in (302, 303):
            ActedForm.objects.filter(form_id=form.form_id, digest=form.digest).update(
                leads_to=response["Location"][:500]
            )
        return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponseBase | None:
        if isinstance(exception, ChangedMeanwhile):
            return self._anew(request)
        if isinstance(exception, NotAllowed):
            return render(request, "errors/not_allowed.html", {"sentence": exception.sentence}, status=409)
        return self._done_before(request) if isinstance(exception, AlreadyDone) else None

    def _anew(self, request: HttpRequest) -> HttpResponseBase:
        """Carry a page out anew, so that it starts from what somebody else has just saved."""
        match = request.resolver_match
        # Files that were sent are in the store already and are not taken in twice.
        for _ in range(0 if match is None or request.FILES else _TRIES):
            try:
                return match.func(request, *match.args, **match.kwargs)  # type: ignore[union-attr,no-any-return]
            except ChangedMeanwhile:
                continue
            except (NotAllowed, AlreadyDone) as error:
                if (answer := self.process_exception(request, error)) is not None:
                    return answer
                raise
        return render(request, "errors/not_allowed.html", {"sentence": _MEANWHILE}, status=409)

    def _done_before(self, request: HttpRequest) -> HttpResponse:
        form = _form_use(request)
        deadline = time.monotonic() + _WAIT_SECONDS
        while form is not None:
            acted = ActedForm.objects.filter(form_id=form.form_id, digest=form.digest).first()
            if acted is None or acted.leads_to or time.monotonic() > deadline:
                break
            time.sleep(0.05)
        else:
            acted = None
        messages.info(request, "That was sent before and is already saved. Nothing was done twice.")
        return redirect(acted.leads_to if acted and acted.leads_to else "home")


def _signer() -> signing.Signer:
    return signing.Signer(salt="form-id")


def new_form_id() -> str:
    """Return the id of a fresh sheet: random, and signed so that only sheets handed out here count."""
    return _signer().sign(secrets.token_urlsafe(18))


def _form_use(request: HttpRequest) -> FormUse | None:
    try:
        form_id = _signer().unsign(request.POST.get(FORM_FIELD, ""))
    except signing.BadSignature:
        return None  # not a sheet that we handed out
    digest = hashlib.sha256()
    digest.update(request.path.encode())
    for name in sorted(request.POST):
        if name not in (FORM_FIELD, "csrfmiddlewaretoken"):
            digest.update(repr((name, request.POST.getlist(name))).encode())
    for name in sorted(request.FILES):
        for file in request.FILES.getlist(name):
            digest.update(repr((name, file.name, file.size)).encode())
            digest.update(_samples(file))
    return FormUse(form_id, digest.hexdigest())


def _samples(file: UploadedFile[Any]) -> bytes:
    """Return some of a file from end to end: two scans of one size and name are two files, and a large one is quick."""
    size = file.size or 0
    found = b""
    for part in range(_SAMPLES):
        file.seek(max(0, size - _SAMPLE_BYTES) * part // (_SAMPLES - 1))
        found += file.read(_SAMPLE_BYTES)
    file.seek(0)
    return found
