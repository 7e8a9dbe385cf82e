"""Who may open which page of the cold."""

from __future__ import annotations

ROUTES = {
    "rooms:cold": "keeper",
    "rooms:cold_how": "keeper",
    "rooms:cold_add": "keeper",
    "rooms:cold_trip": "keeper",
    "rooms:cold_thing": "keeper",
    "rooms:cold_place": "keeper",
    "rooms:cold_say": "keeper",
    "rooms:cold_not": "keeper",
    "rooms:cold_out": "keeper",
}
