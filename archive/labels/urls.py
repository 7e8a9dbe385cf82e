"""Addresses of labels."""

from __future__ import annotations

from django.urls import path

from archive.labels import views

app_name = "labels"
urlpatterns = [
    path("", views.make, name="make"),
]
