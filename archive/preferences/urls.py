"""Addresses of the settings."""

from __future__ import annotations

from django.urls import path

from archive.preferences import views

app_name = "preferences"
urlpatterns = [
    path("", views.edit, name="edit"),
    path("sample/", views.sample, name="sample"),
]
