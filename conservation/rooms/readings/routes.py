"""Who may open which page of readings."""

from __future__ import annotations

ROUTES = {
    "rooms:sensor": "keeper",
    "rooms:sensor_change": "keeper",
    "rooms:add_sensor": "keeper",
    "rooms:sensor_export": "keeper",
    "rooms:type_reading": "keeper",
    "rooms:import": "keeper",
    "rooms:import_file": "keeper",
    "rooms:import_give_up": "keeper",
    "rooms:import_take_back": "keeper",
}
