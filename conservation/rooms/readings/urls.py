"""Addresses of sensors and readings; the namespace is that of rooms."""

from __future__ import annotations

from django.urls import path

from conservation.rooms.readings import import_views, views

urlpatterns = [
    path("type/", import_views.type_reading, name="type_reading"),
    path("import/", import_views.upload, name="import"),
    path("import/<str:import_id>/", import_views.import_file, name="import_file"),
    path("import/<str:import_id>/give-up/", import_views.give_up, name="import_give_up"),
    path("import/<str:import_id>/take-back/", import_views.take_back, name="import_take_back"),
    path("sensor/<str:public_id>/file/", import_views.export, name="sensor_export"),
    path("sensor/<str:public_id>/", views.sensor, name="sensor"),
    path("sensor/<str:public_id>/change/", views.change_sensor, name="sensor_change"),
    path("add-sensor/<str:public_id>/", views.add_sensor, name="add_sensor"),
]
