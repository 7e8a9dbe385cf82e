"""Who may open which page of what is on show."""

from __future__ import annotations

ROUTES = {
    # Spots, and what hangs there.
    "on_show:page": "visitor",
    "on_show:spot": "visitor",
    # Days that matter.
    "on_show:occasions": "relative",
    "on_show:add_occasion": "keeper",
    "on_show:occasion": "keeper",
    "on_show:choose_occasion": "keeper",
}
