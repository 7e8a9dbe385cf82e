"""Who may open which page of rounds."""

from __future__ import annotations

ROUTES = {
    "rooms:rounds": "keeper",
    "rooms:round": "keeper",
    "rooms:end_round": "keeper",
    "rooms:round_sheet": "keeper",
    "rooms:round_room": "keeper",
    "rooms:findings": "keeper",
    "rooms:add_finding": "keeper",
    "rooms:finding": "keeper",
    "rooms:change_finding": "keeper",
    "rooms:cleaning": "keeper",
}
