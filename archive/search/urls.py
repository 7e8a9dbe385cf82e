"""Addresses of search."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "search"
urlpatterns: list[URLPattern] = []
