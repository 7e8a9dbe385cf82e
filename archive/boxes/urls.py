"""Addresses of boxes."""

from __future__ import annotations

from django.urls import path

from archive.boxes import views

app_name = "boxes"
urlpatterns = [
    path("suggest/", views.suggest, name="suggest"),
]
