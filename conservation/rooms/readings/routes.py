"""Who may open which page of readings."""

from __future__ import annotations

ROUTES = {
    "rooms:sensor": "keeper",
    "rooms:sensor_change": "keeper",
    "rooms:add_sensor": "keeper",
}
