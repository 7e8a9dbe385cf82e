"""The names by which this computer may be asked; they follow it when its addresses change."""

from __future__ import annotations

import os
import socket
import time
from collections.abc import Iterator

SHARE_VARIABLE = "KISTBOOK_SHARE"
_LOCAL = ("localhost", "127.0.0.1", "[::1]")
_FRESH_SECONDS = 30.0


class HostList(list[str]):
    """A list whose content is looked up anew every half minute, so that a new address needs no restart."""

    def __init__(self) -> None:
        super().__init__()
        self._seen: tuple[str, ...] = _LOCAL
        self._until = 0.0

    def __iter__(self) -> Iterator[str]:
        # The test runner and tests append names of their own to the list.
        return iter((*super().__iter__(), *self._names()))

    def __len__(self) -> int:
        return super().__len__() + len(self._names())

    def _names(self) -> tuple[str, ...]:
        if not os.environ.get(SHARE_VARIABLE):
            return _LOCAL
        now = time.monotonic()
        if now >= self._until:
            self._seen = (*_LOCAL, *_own_names())
            self._until = now + _FRESH_SECONDS
        return self._seen


def _own_names() -> tuple[str, ...]:
    from archive.sharing.addresses import own_addresses

    host = socket.gethostname().lower()
    named = (host, f"{host.removesuffix('.local')}.local")
    return (*named, *(f"[{address}]" if ":" in address else address for address in own_addresses()))
