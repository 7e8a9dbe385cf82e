"""Addresses of recording many things fast."""

from __future__ import annotations

from django.urls import path

from archive.entry import batch_views, picture_views, views

app_name = "entry"
urlpatterns = [
    path("", views.quick, name="quick"),
    path("word/", views.word, name="word"),
    path("pictures/", picture_views.pictures, name="pictures"),
    path("pictures/names/", picture_views.name_pictures, name="name_pictures"),
    path("batch/", batch_views.batch, name="batch"),
    path("done/<str:public_id>/", views.done, name="done"),
]
