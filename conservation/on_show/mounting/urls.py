"""Addresses of how things are shown."""

from __future__ import annotations

from django.urls import path

from conservation.on_show.mounting import views

urlpatterns = [
    path("thing/<str:public_id>/how/", views.how, name="how"),
]
