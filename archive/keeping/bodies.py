"""Request bodies on their way in: what is too large, or has no room on the disk, is read to its end and let go.

A server that closes the connection in the middle of an upload shows the sender a broken connection. One that listens
to the end can answer with a page that says what to do.
"""

from __future__ import annotations

import contextlib
import errno
import io
from typing import IO, Any

from django.conf import settings
from waitress.buffers import OverflowableBuffer
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.receiver import ChunkedReceiver, FixedStreamReceiver

from archive.keeping.media_store import room_bytes
from archive.keeping.middleware import REFUSED_HEADER

TOO_LARGE, NO_ROOM = "large", "room"
_KEY = REFUSED_HEADER.removeprefix("HTTP_")
# A body lies on the disk twice for a moment: as it came, and as the files in it.
_TIMES_ON_DISK = 2


class Inbox(OverflowableBuffer):  # type: ignore[misc]
    """Keeps a body in memory or in a temporary file, until it turns out that it cannot be kept."""

    def __init__(self, overflow: int, refused: str = "") -> None:
        super().__init__(overflow)
        self.refused, self._size = refused, 0

    def append(self, data: bytes) -> None:
        self._size += len(data)
        if not self.refused and self._size > settings.UPLOAD_LIMIT_BYTES:
            self._let_go(TOO_LARGE)
        if self.refused:
            return
        try:
            super().append(data)
        except OSError as error:
            if error.errno not in (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)):
                raise
            self._let_go(NO_ROOM)

    def _let_go(self, why: str) -> None:
        self.refused = why
        with contextlib.suppress(OSError):  # what it had not written yet has no room either
            self.close()
        self.buf, self.strbuf, self.overflowed = None, b"", False

    def __len__(self) -> int:
        return 0 if self.refused else super().__len__()


class Parser(HTTPRequestParser):  # type: ignore[misc]
    """As waitress's; a body that is refused reaches the site as an empty one with a note why."""

    def parse_header(self, header_plus: bytes) -> None:
        super().parse_header(header_plus)
        self.headers.pop(_KEY, None)
        if self.chunked:
            self.body_rcv = ChunkedReceiver(Inbox(self.adj.inbuf_overflow))
        elif self.content_length > 0:
            refused = ""
            if self.content_length > settings.UPLOAD_LIMIT_BYTES:
                refused = TOO_LARGE
            elif self.content_length > self.adj.inbuf_overflow and self.content_length * _TIMES_ON_DISK > room_bytes():
                refused = NO_ROOM
            self.body_rcv = FixedStreamReceiver(self.content_length, Inbox(self.adj.inbuf_overflow, refused))

    def received(self, data: bytes) -> int:
        consumed: int = super().received(data)
        if self.completed and self.refused:
            self.headers[_KEY] = self.refused
            self.headers["CONTENT_LENGTH"] = "0"
            # What was sent is gone; the next request begins on a connection of its own.
            self.connection_close = True
        return consumed

    @property
    def refused(self) -> str:
        """Why the body was let go, or nothing."""
        buffer: Any = self.body_rcv.getbuf() if self.body_rcv is not None else None
        return getattr(buffer, "refused", "")

    def get_body_stream(self) -> IO[bytes]:
        if self.refused:
            return io.BytesIO()
        stream: IO[bytes] = super().get_body_stream()
        return stream


class Channel(HTTPChannel):  # type: ignore[misc]
    """A connection whose bodies are read by our parser."""

    parser_class = Parser
