"""What showing things adds to the catalogue's pages."""

from __future__ import annotations

from archive.extend import Extension
from conservation.on_show.routes import ROUTES

ON_SHOW = Extension(
    subject="on_show",
    urls="conservation.on_show.urls",
    routes=ROUTES,
    menu=("On show", "on_show:page"),
)
