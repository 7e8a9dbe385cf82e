"""This computer's addresses on the home network (pure)."""

from __future__ import annotations

import ipaddress
import socket


def own_addresses() -> list[str]:
    """Return this computer's addresses that others at home can reach, the likeliest first; nothing is sent."""
    found: dict[str, None] = {}
    for family, outside in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        # Connecting a datagram socket sends nothing; it only picks the interface (documentation addresses, RFC 5737).
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as probe:
                probe.connect((outside, 9))
                found[probe.getsockname()[0]] = None
        except OSError:
            continue
    try:
        for *_, address in socket.getaddrinfo(socket.gethostname(), None):
            found[str(address[0])] = None
    except OSError:
        pass
    return [each for each in found if _is_useful(each)]


def _is_useful(address: str) -> bool:
    try:
        parsed = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return False
    return not (parsed.is_loopback or parsed.is_link_local or parsed.is_unspecified)
