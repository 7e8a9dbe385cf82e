"""Addresses of where things should live, under those of rooms."""

from __future__ import annotations

from django.urls import path

from conservation.rooms.living import views

urlpatterns = [
    path("", views.living, name="living"),
    path("box/<str:public_id>/", views.box, name="living_box"),
    path("thing/<str:public_id>/", views.thing, name="living_thing"),
    path("box/<str:public_id>/brief/", views.brief, {"sort": "box"}, name="living_brief_box"),
    path("thing/<str:public_id>/brief/", views.brief, {"sort": "thing"}, name="living_brief_thing"),
    path("box/<str:public_id>/answer/", views.answer, {"sort": "box"}, name="living_answer_box"),
    path("thing/<str:public_id>/answer/", views.answer, {"sort": "thing"}, name="living_answer_thing"),
]
