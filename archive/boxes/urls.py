"""Addresses of boxes."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "boxes"
urlpatterns: list[URLPattern] = []
