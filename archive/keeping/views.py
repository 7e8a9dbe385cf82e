"""Health, snapshots, errands, the problem report, and the pages for what went wrong."""

from __future__ import annotations

import contextlib
import logging
import secrets
import sys
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template import loader
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.views import keeper_of
from archive.keeping import actions, queries
from archive.keeping.middleware import answer_to
from archive.keeping.snapshots import BadSnapshot, find_snapshot

_log = logging.getLogger("kistbook")


@require_safe
def health(request: HttpRequest) -> HttpResponse:
    return render(request, "keeping/health.html", {"health": queries.health(), "errands": queries.errands()[:5]})


@require_POST
def snapshot(request: HttpRequest) -> HttpResponse:
    try:
        messages.success(request, f"Kept {actions.snapshot_now()}.")
    except BadSnapshot as error:
        messages.error(request, str(error))
    return redirect("keeping:health")


@require_POST
def check(request: HttpRequest) -> HttpResponse:
    return redirect("keeping:errand", actions.check_everything(keeper_of(request)).public_id)


@require_http_methods(["GET", "HEAD", "POST"])
def restore(request: HttpRequest, name: str) -> HttpResponse:
    found = find_snapshot(name)
    if found is None:
        raise Http404
    if request.method == "POST":
        try:
            actions.ask_restore(found)
        except BadSnapshot as error:
            messages.error(request, str(error))
            return redirect("keeping:health")
        return render(request, "keeping/restarting.html", {"snapshot": found}, status=202)
    return render(request, "keeping/restore.html", {"snapshot": found})


@require_safe
def errands(request: HttpRequest) -> HttpResponse:
    return render(request, "keeping/errands.html", {"errands": queries.errands()})


@require_safe
def errand(request: HttpRequest, public_id: str) -> HttpResponse:
    found = queries.find_errand(public_id)
    if found is None:
        raise Http404
    template = "keeping/_errand.html" if getattr(request, "htmx", False) else "keeping/errand.html"
    return render(request, template, {"errand": found})


@require_POST
def stop(request: HttpRequest, public_id: str) -> HttpResponse:
    found = queries.find_errand(public_id)
    if found is None:
        raise Http404
    actions.ask_stop(found)
    return redirect("keeping:errand", found.public_id)


@require_POST
def report(request: HttpRequest) -> HttpResponse:
    path = actions.write_report()
    context = {"path": path, "text": path.read_text(encoding="utf-8")}
    return render(request, "keeping/report.html", context)


# -- what went wrong --------------------------------------------------------------------------------------------


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "errors/404.html", status=404)


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return _plain("errors/400.html", 400, request)


def not_allowed(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "errors/403.html", status=403)


def form_too_old(request: HttpRequest, reason: str = "") -> HttpResponse:
    return render(request, "errors/form_too_old.html", status=403)


def server_error(request: HttpRequest) -> HttpResponse:
    """Say that something went wrong, with a code that is found in the log; the page asks the database nothing."""
    error = sys.exc_info()[1]
    with contextlib.suppress(Exception):  # a full disk may stand in the way outside a view too (a session)
        known = answer_to(request, error)
        if known is not None:
            return known
    code = secrets.token_hex(4)
    _log.error(
        "page failed, code %s, %s %s",
        code,
        request.method,
        request.resolver_match and request.resolver_match.route,
        exc_info=error,
    )
    return _plain("errors/500.html", 500, request, code=code)


def _plain(template: str, status: int, request: HttpRequest, **context: Any) -> HttpResponse:
    context |= {"kistbook_version": settings.KISTBOOK_VERSION}
    return HttpResponse(loader.render_to_string(template, context), status=status)
