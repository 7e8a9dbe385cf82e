"""Addresses of boxes."""

from __future__ import annotations

from django.urls import path

from archive.boxes import move_views, views

app_name = "boxes"
urlpatterns = [
    path("", views.tree_page, name="tree"),
    path("add/", views.add, name="add"),
    path("add-many/", views.add_many, name="add_many"),
    path("move/", move_views.move, name="move"),
    path("moved/<str:public_id>/", move_views.moved, name="moved"),
    path("empty/", views.empty, name="empty"),
    path("suggest/", views.suggest, name="suggest"),
    path("<str:public_id>/", views.page, name="page"),
    path("<str:public_id>/edit/", views.edit, name="edit"),
    path("<str:public_id>/contents/", views.contents, name="contents"),
    path("<str:public_id>/pictures/", views.pictures, name="pictures"),
]
