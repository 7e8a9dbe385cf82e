"""Addresses of places."""

from __future__ import annotations

from django.urls import path

from archive.places import views

app_name = "places"
urlpatterns = [
    path("", views.place_list, name="list"),
    path("add/", views.add, name="add"),
    path("suggest/", views.suggest, name="suggest"),
    path("name/<str:public_id>/", views.name, name="name"),
    path("<str:public_id>/", views.page, name="page"),
    path("<str:public_id>/edit/", views.edit, name="edit"),
    path("<str:public_id>/all/<str:section>/", views.linked, name="linked"),
    path("<str:public_id>/add-name/", views.add_name, name="add_name"),
]
