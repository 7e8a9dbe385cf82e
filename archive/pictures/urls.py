"""Addresses of pictures."""

from __future__ import annotations

from django.urls import path

from archive.pictures import mark_views, views

app_name = "pictures"
urlpatterns = [
    path("add/<str:thing_id>/", views.add, name="add"),
    path("add/<str:code>/<str:public_id>/", views.add, name="add"),
    path("alike/", views.twins, name="twins"),
    path("held/<str:size>/<str:ticket>/", views.held_size, name="held"),
    path("marks/<str:public_id>/", mark_views.change_mark, name="change_mark"),
    path("marks/<str:public_id>/remove/", mark_views.remove_mark, name="remove_mark"),
    path("<str:public_id>/file/", views.file, name="file"),
    path("<str:public_id>/<int:size>/", views.size, name="size"),
    path("<str:public_id>/zoom/", mark_views.zoom, name="zoom"),
    path("<str:public_id>/mark/", mark_views.mark, name="mark"),
    path("<str:public_id>/alike/", views.alike, name="alike"),
    path("<str:public_id>/use-date/", views.use_date, name="use_date"),
    path("<str:public_id>/edit/", views.edit, name="edit"),
    path("<str:public_id>/remove/", views.remove, name="remove"),
]
