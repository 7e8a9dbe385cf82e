"""Serving a file with ranges (RFC 9110 §14), by Django's file response over a seekable slice."""

from __future__ import annotations

import io
import os
import re
from email.utils import formatdate, parsedate_to_datetime
from pathlib import Path
from typing import BinaryIO

from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.utils.http import content_disposition_header

# Range units are named without regard to case (RFC 9110 §14.1); numbers are ASCII digits.
_RANGE = re.compile(r"bytes=[ \t]*([0-9]*)-([0-9]*)[ \t]*", re.IGNORECASE)
_DIGITS = 18  # more than any file has
LASTING = "private, max-age=31536000, immutable"


class Slice(io.RawIOBase):
    """A part of an open file that behaves as a file of its own: reads, seeks, closes."""

    def __init__(self, file: BinaryIO, start: int, length: int) -> None:
        super().__init__()
        self._file, self._start, self._length, self._at = file, start, length, 0
        file.seek(start)

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        base = {io.SEEK_SET: 0, io.SEEK_CUR: self._at, io.SEEK_END: self._length}[whence]
        self._at = max(0, base + offset)
        self._file.seek(self._start + self._at)
        return self._at

    def tell(self) -> int:
        return self._at

    def read(self, size: int | None = -1) -> bytes:
        left = max(0, self._length - self._at)
        wanted = left if size is None or size < 0 else min(size, left)
        data = self._file.read(wanted)
        self._at += len(data)
        return data

    def close(self) -> None:
        self._file.close()
        super().close()


def serve_file(
    request: HttpRequest,
    path: Path,
    tag: str,
    content_type: str,
    *,
    download_name: str = "",
    as_attachment: bool = False,
) -> HttpResponseBase:
    """Answer GET or HEAD for a file whose content `tag` names for good.

    One range gives 206, an impossible one 416, several or a stale ``If-Range`` the whole file; a known ``ETag`` 304.
    Only GET has ranges (RFC 9110 §14.2): HEAD is answered as if none were asked for. ``as_attachment`` has the browser
    save the file rather than open it.

    Raises:
        django.http.Http404: the file is not there.
    """
    try:
        file: BinaryIO = path.open("rb")
    except FileNotFoundError:
        raise Http404 from None
    state = os.fstat(file.fileno())
    size, etag = state.st_size, f'"{tag}"'
    modified = formatdate(state.st_mtime, usegmt=True)
    if _matches(request.headers.get("If-None-Match", ""), etag):
        file.close()
        answer: HttpResponseBase = HttpResponse(status=304)
        return _with_headers(answer, etag, modified)
    asked = request.headers.get("Range", "") if request.method == "GET" else ""
    if asked and not _range_holds(request, etag, modified):
        asked = ""
    part = _part(asked, size)
    if part == "impossible":
        file.close()
        answer = HttpResponse(status=416)
        answer["Content-Range"] = f"bytes */{size}"
        _with_headers(answer, etag, modified)["Cache-Control"] = "private, no-store"
        return answer
    if request.method == "HEAD":
        file.close()  # waitress sends a file that it is given, whatever was asked
        answer = HttpResponse(content_type=content_type)
        answer["Content-Length"] = str(size)
    elif isinstance(part, tuple):
        start, end = part
        answer = FileResponse(Slice(file, start, end - start + 1), content_type=content_type, status=206)
        answer["Content-Range"] = f"bytes {start}-{end}/{size}"
        answer["Content-Length"] = str(end - start + 1)
    else:
        answer = FileResponse(file, content_type=content_type)
        answer["Content-Length"] = str(size)
    if download_name and (disposition := content_disposition_header(as_attachment, download_name)):
        answer["Content-Disposition"] = disposition
    return _with_headers(answer, etag, modified)


def _with_headers(answer: HttpResponseBase, etag: str, modified: str) -> HttpResponseBase:
    answer["ETag"], answer["Accept-Ranges"], answer["Cache-Control"] = etag, "bytes", LASTING
    answer["Last-Modified"] = modified
    # What was uploaded is shown, never run.
    answer["Content-Security-Policy"] = "default-src 'none'; img-src 'self'; style-src 'unsafe-inline'; sandbox"
    return answer


def _matches(header: str, etag: str) -> bool:
    known = [each.strip().removeprefix("W/") for each in header.split(",")]
    return header.strip() == "*" or etag in known


def _range_holds(request: HttpRequest, etag: str, modified: str) -> bool:
    condition = request.headers.get("If-Range", "").strip()
    if not condition:
        return True
    if condition.startswith(('"', "W/")):
        return condition == etag  # a weak tag never matches here
    try:
        return parsedate_to_datetime(condition) == parsedate_to_datetime(modified)
    except (TypeError, ValueError):
        return False


def _part(header: str, size: int) -> tuple[int, int] | str | None:
    """Return first and last byte, ``impossible``, or None for the whole file."""
    match = _RANGE.fullmatch(header.strip())
    if match is None or (not match[1] and not match[2]):
        return None
    if not match[1]:
        length = _number(match[2])
        return (max(0, size - length), size - 1) if length and size else "impossible"
    start = _number(match[1])
    last = _number(match[2]) if match[2] else size
    end = min(last, size - 1)
    if last < start and match[2]:
        return None  # not a valid range; it is left out of account
    return (start, end) if start < size else "impossible"


def _number(digits: str) -> int:
    stripped = digits.lstrip("0") or "0"
    return int(stripped) if len(stripped) <= _DIGITS else 10**_DIGITS
