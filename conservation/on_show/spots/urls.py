"""Addresses of spots."""

from __future__ import annotations

from django.urls import path

from conservation.on_show.spots import views

urlpatterns = [
    path("", views.page, name="page"),
    path("spot/<str:public_id>/", views.spot, name="spot"),
]
