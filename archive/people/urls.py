"""Addresses of people."""

from __future__ import annotations

from django.urls import path

from archive.people import views

app_name = "people"
urlpatterns = [
    path("suggest/", views.suggest, name="suggest"),
]
