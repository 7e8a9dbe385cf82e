"""Addresses of stories."""

from __future__ import annotations

from django.urls import path

from archive.stories import views

app_name = "stories"
urlpatterns = [
    path("", views.story_list, name="list"),
    path("add/", views.add, name="add"),
    path("tell/", views.tell, name="tell"),
    path("told/", views.unread, name="unread"),
    path("date/", views.date_echo, name="date_echo"),
    path("things/", views.suggest_things, name="suggest_things"),
    path("<str:public_id>/", views.page, name="page"),
    path("<str:public_id>/edit/", views.edit, name="edit"),
    path("<str:public_id>/read/", views.read, name="read"),
    path("<str:public_id>/pictures/", views.pictures, name="pictures"),
    path("<str:public_id>/pictures/<str:picture_id>/", views.picture, name="picture"),
]
