"""Who may open which page of where things should live."""

from __future__ import annotations

ROUTES = {
    "rooms:living": "keeper",
    "rooms:living_box": "keeper",
    "rooms:living_thing": "keeper",
    "rooms:living_brief_box": "keeper",
    "rooms:living_brief_thing": "keeper",
    "rooms:living_answer_box": "keeper",
    "rooms:living_answer_thing": "keeper",
}
