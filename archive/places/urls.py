"""Addresses of places."""

from __future__ import annotations

from django.urls import path

from archive.places import views

app_name = "places"
urlpatterns = [
    path("suggest/", views.suggest, name="suggest"),
]
