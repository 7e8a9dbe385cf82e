"""Addresses of things."""

from __future__ import annotations

from django.urls import path

from archive.things import list_views, views

app_name = "things"
urlpatterns = [
    path("", list_views.thing_list, name="list"),
    path("add/", views.add, name="add"),
    path("date/", views.date_echo, name="date_echo"),
    path("<str:public_id>/", views.page, name="page"),
    path("<str:public_id>/edit/", views.edit, name="edit"),
]
