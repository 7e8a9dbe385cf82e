"""Addresses of search."""

from __future__ import annotations

from django.urls import path

from archive.search import views

app_name = "search"
urlpatterns = [
    path("", views.page, name="page"),
    path("timeline/", views.timeline, name="timeline"),
]
