"""Addresses of cold places, under those of rooms."""

from __future__ import annotations

from django.urls import path

from conservation.rooms.cold import views

urlpatterns = [
    path("", views.cold, name="cold"),
    path("how/", views.how, name="cold_how"),
    path("add/", views.add, name="cold_add"),
    path("out/<str:trip_id>/", views.trip, name="cold_trip"),
    path("thing/<str:public_id>/", views.thing, name="cold_thing"),
    path("<str:public_id>/", views.place, name="cold_place"),
    path("<str:public_id>/say/", views.say, name="cold_say"),
    path("<str:public_id>/not/", views.not_cold, name="cold_not"),
    path("<str:public_id>/take-out/", views.out, name="cold_out"),
]
