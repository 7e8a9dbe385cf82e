"""Addresses of taking in and giving out the archive."""

from __future__ import annotations

from django.urls import path

from archive.moving import views

app_name = "moving"
urlpatterns = [
    path("paste/", views.paste, name="paste"),
]
