"""What rooms add to the catalogue. Nested subjects (readings, living, cold, rounds) have extensions of their own."""

from __future__ import annotations

from archive.extend import Extension
from conservation.rooms.routes import ROUTES

ROOMS = Extension(
    subject="rooms",
    urls="conservation.rooms.urls",
    routes=ROUTES,
    menu=("Rooms", "rooms:list"),
)
