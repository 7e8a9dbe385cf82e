"""Which errands there are: a name, and the function that does one."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from archive.keeping.errands.worker import Task

Handler = Callable[["Task"], None]
_handlers: dict[str, Handler] = {}


def register(name: str, handler: Handler) -> None:
    """Add a kind of errand."""
    _handlers[name] = handler


def handler(name: str) -> Handler | None:
    """Return what does an errand of this kind, or None."""
    return _handlers.get(name)
