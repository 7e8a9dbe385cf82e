"""Who may open which page of treating by cold."""

from __future__ import annotations

ROUTES = {
    "rooms:freezings": "keeper",
    "rooms:add_freezing": "keeper",
    "rooms:freezing": "keeper",
    "rooms:freezing_step": "keeper",
}
