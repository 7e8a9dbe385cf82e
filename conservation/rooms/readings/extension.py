"""What readings add to the catalogue."""

from __future__ import annotations

from archive.extend import Extension
from conservation.rooms.readings.routes import ROUTES

READINGS = Extension(subject="rooms.readings", routes=ROUTES)
