"""Addresses of labels."""

from __future__ import annotations

from django.urls import path

from archive.labels import views

app_name = "labels"
urlpatterns = [
    path("", views.make, name="make"),
    path("printed/", views.printed, name="printed"),
    path("marking/", views.marking, name="marking"),
]
