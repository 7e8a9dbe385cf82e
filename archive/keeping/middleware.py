"""When the disk has failed, is full, or a request is too large: a page that says so; and when somebody last asked."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib.sessions.exceptions import SessionInterrupted
from django.contrib.sessions.middleware import SessionMiddleware
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render

from archive.keeping import fatal, upkeep

GetResponse = Callable[[HttpRequest], HttpResponseBase]
REFUSED_HEADER = "HTTP_KISTBOOK_REFUSED"


def answer_to(request: HttpRequest, exception: BaseException | None) -> HttpResponse | None:
    """Return the page for a disk that is full, failed or busy, or None for any other exception."""
    words = str(exception)
    if isinstance(exception, fatal.NoRoom) or "database or disk is full" in words:
        return render(request, "keeping/no_room.html", status=507)
    if isinstance(exception, fatal.DiskBroken) or "disk I/O error" in words:
        fatal.mark_broken()
        return render(request, "keeping/disk_broken.html", status=503)
    if isinstance(exception, OperationalError) and "database is locked" in words:
        return render(request, "keeping/busy.html", status=503)
    return None


class Sessions(SessionMiddleware):
    """As Django's, but on a full disk a page is shown all the same: what is not kept is a message already read."""

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        try:
            return super().process_response(request, response)
        except (SessionInterrupted, OperationalError) as error:
            cause: BaseException | None = error
            while cause is not None:
                if "database or disk is full" in str(cause):
                    return response
                cause = cause.__context__
            raise


class Fatal:
    """Lets reading go on after a disk failure, and refuses every write."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        upkeep.note_request()
        if fatal.is_broken() and request.method not in ("GET", "HEAD"):
            return render(request, "keeping/disk_broken.html", status=503)
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: Any
    ) -> HttpResponseBase | None:
        """Answer a body that was let go on its way in (`bodies.py`), before anything looks for its fields."""
        refused = request.META.get(REFUSED_HEADER, "")
        if refused == "room":
            return render(request, "keeping/no_room.html", status=507)
        if refused:
            limit = settings.UPLOAD_LIMIT_BYTES // 1_048_576
            return render(request, "keeping/too_large.html", {"limit_mb": limit}, status=413)
        return None

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponseBase | None:
        return answer_to(request, exception)
