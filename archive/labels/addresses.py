"""Whether an address printed on a label will still hold tomorrow (pure)."""

from __future__ import annotations

import ipaddress
from urllib.parse import urlsplit


def address_may_change(url: str) -> bool:
    """Say whether an address names this computer by a number, or only to itself, and so may change."""
    host = urlsplit(url).hostname or ""
    if host in ("", "localhost"):
        return True
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True
