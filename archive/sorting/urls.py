"""Addresses of sorting."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "sorting"
urlpatterns: list[URLPattern] = []
