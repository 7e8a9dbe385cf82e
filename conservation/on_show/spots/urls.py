"""Addresses of spots."""

from __future__ import annotations

from django.urls import path

from conservation.on_show.spots import views

urlpatterns = [
    path("", views.page, name="page"),
    path("spot/add/", views.add, name="add_spot"),
    path("spot/<str:public_id>/", views.spot, name="spot"),
    path("spot/<str:public_id>/edit/", views.edit, name="edit_spot"),
    path("spot/<str:public_id>/reading/", views.read, name="read_spot"),
    path("spot/<str:public_id>/reading/<str:row_id>/remove/", views.unread, name="unread_spot"),
]
