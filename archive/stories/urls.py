"""Addresses of stories."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "stories"
urlpatterns: list[URLPattern] = []
