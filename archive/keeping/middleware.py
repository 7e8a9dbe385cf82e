"""When the disk has failed: a red page instead of any write; and a note of when somebody last asked."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render

from archive.keeping import fatal, upkeep

GetResponse = Callable[[HttpRequest], HttpResponseBase]


class Fatal:
    """Lets reading go on after a disk failure, and refuses every write."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        upkeep.note_request()
        if fatal.is_broken() and request.method not in ("GET", "HEAD"):
            return render(request, "keeping/disk_broken.html", status=503)
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponseBase | None:
        full = isinstance(exception, fatal.NoRoom) or "database or disk is full" in str(exception)
        if full:
            return render(request, "keeping/no_room.html", status=507)
        if isinstance(exception, fatal.DiskBroken) or "disk I/O error" in str(exception):
            fatal.mark_broken()
            return render(request, "keeping/disk_broken.html", status=503)
        return None
