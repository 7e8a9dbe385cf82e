"""Who may open which page of rooms; nested subjects have their own rows."""

from __future__ import annotations

ROUTES = {
    "rooms:list": "keeper",
    "rooms:room": "keeper",
    "rooms:facts": "keeper",
    "rooms:numbers": "keeper",
}
