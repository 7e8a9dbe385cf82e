"""Addresses of people."""

from __future__ import annotations

from django.urls import path

from archive.people import views

app_name = "people"
urlpatterns = [
    path("", views.people_list, name="list"),
    path("add/", views.add, name="add"),
    path("suggest/", views.suggest, name="suggest"),
    path("date/", views.date_echo, name="date_echo"),
    path("row/<str:what>/<str:public_id>/", views.row, name="row"),
    path("<str:public_id>/", views.page, name="page"),
    path("<str:public_id>/edit/", views.edit, name="edit"),
    path("<str:public_id>/family/", views.family, name="family"),
    path("<str:public_id>/all/<str:section>/", views.linked, name="linked"),
    path("<str:public_id>/add/<str:what>/", views.add_row, name="add_row"),
]
