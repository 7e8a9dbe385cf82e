"""Addresses of rooms; nested subjects add theirs, all under the one namespace."""

from __future__ import annotations

from django.urls import include, path

from conservation.rooms import views
from conservation.rooms.readings import room_views

app_name = "rooms"
urlpatterns = [
    path("", room_views.rooms, name="list"),
    # Addresses of the nested subjects stand above those of one room: path("living/", include("…living.urls")).
    path("cold/", include("conservation.rooms.cold.urls")),
    path("living/", include("conservation.rooms.living.urls")),
    path("readings/", include("conservation.rooms.readings.urls")),
    path("", include("conservation.rooms.rounds.urls")),
    path("", include("conservation.rooms.traps.urls")),
    path("", include("conservation.rooms.freezing.urls")),
    path("<str:public_id>/", room_views.room, name="room"),
    path("<str:public_id>/numbers/", room_views.numbers, name="numbers"),
    path("<str:public_id>/facts/", views.facts, name="facts"),
]
