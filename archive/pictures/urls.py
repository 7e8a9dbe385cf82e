"""Addresses of pictures."""

from __future__ import annotations

from django.urls import path

from archive.pictures import views

app_name = "pictures"
urlpatterns = [
    path("add/<str:thing_id>/", views.add, name="add"),
    path("held/<str:size>/<str:ticket>/", views.held_size, name="held"),
    path("<str:public_id>/file/", views.file, name="file"),
    path("<str:public_id>/<int:size>/", views.size, name="size"),
    path("<str:public_id>/edit/", views.edit, name="edit"),
    path("<str:public_id>/remove/", views.remove, name="remove"),
]
