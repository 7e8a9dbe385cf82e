"""What several parts of one page read is read once for that page. A change inside the request has it read anew."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

_read: ContextVar[dict[str, dict[Any, Any]] | None] = ContextVar("read_for_this_page", default=None)


@contextmanager
def one_page() -> Iterator[None]:
    """Keep what is read inside for the other parts of the page that ask the same; a request is short."""
    token = _read.set({})
    try:
        yield
    finally:
        _read.reset(token)


def read_for_page(what: str) -> dict[Any, Any]:
    """Return what the page has read of one sort, by key, to be looked in and added to.

    Outside of a page, and while something is being changed, it is empty and forgotten at once.
    """
    read = _read.get()
    return {} if read is None else read.setdefault(what, {})


@contextmanager
def reading_anew() -> Iterator[None]:
    """Keep nothing while something is changed, and forget what was read before."""
    read = _read.get()
    token = _read.set(None)
    try:
        yield
    finally:
        _read.reset(token)
        if read is not None:
            read.clear()
