"""Addresses of treating by cold, inside the namespace of rooms."""

from __future__ import annotations

from django.urls import path

from conservation.rooms.freezing import views

urlpatterns = [
    path("freezing/", views.freezings, name="freezings"),
    path("freezing/add/", views.add_freezing, name="add_freezing"),
    path("freezing/<str:freezing_id>/", views.freezing, name="freezing"),
    path("freezing/<str:freezing_id>/step/", views.step, name="freezing_step"),
]
