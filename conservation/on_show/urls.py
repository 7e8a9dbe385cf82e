"""Addresses of what is on show; each part has its own list, all in the one namespace."""

from __future__ import annotations

from django.urls import include, path

app_name = "on_show"
urlpatterns = [
    path("", include("conservation.on_show.spots.urls")),
    path("", include("conservation.on_show.occasions.urls")),
    path("", include("conservation.on_show.light.urls")),
    path("", include("conservation.on_show.mounting.urls")),
    path("", include("conservation.on_show.plans.urls")),
]
