"""Addresses of the days that matter."""

from __future__ import annotations

from django.urls import path

from conservation.on_show.occasions import views

urlpatterns = [
    path("days/", views.days, name="occasions"),
    path("days/add/", views.add, name="add_occasion"),
    path("days/<str:public_id>/", views.edit, name="occasion"),
    path("days/<str:sort>/<str:record>/", views.choose, name="choose_occasion"),
]
