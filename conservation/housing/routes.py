"""Who may open which page of housing."""

from __future__ import annotations

ROUTES = {
    "housing:needs": "keeper",
    "housing:sheet": "visitor",
    "housing:card": "visitor",
    "housing:decide": "keeper",
    "housing:done": "keeper",
    "housing:place": "keeper",
}
