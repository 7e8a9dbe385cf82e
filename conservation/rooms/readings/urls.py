"""Addresses of sensors and readings; the namespace is that of rooms."""

from __future__ import annotations

from django.urls import path

from conservation.rooms.readings import views

urlpatterns = [
    path("sensor/<str:public_id>/", views.sensor, name="sensor"),
    path("sensor/<str:public_id>/change/", views.change_sensor, name="sensor_change"),
    path("add-sensor/<str:public_id>/", views.add_sensor, name="add_sensor"),
]
