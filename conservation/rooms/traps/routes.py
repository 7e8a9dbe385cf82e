"""Who may open which page of insect traps."""

from __future__ import annotations

ROUTES = {
    "rooms:traps": "keeper",
    "rooms:room_traps": "keeper",
    "rooms:trap_plan": "keeper",
    "rooms:add_trap": "keeper",
    "rooms:trap": "keeper",
    "rooms:move_trap": "keeper",
    "rooms:take_trap": "keeper",
}
