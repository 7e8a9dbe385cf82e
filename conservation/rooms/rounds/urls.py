"""Addresses of rounds and findings, inside the namespace of rooms."""

from __future__ import annotations

from django.urls import path

from conservation.rooms.rounds import finding_views, views

urlpatterns = [
    path("rounds/", views.rounds, name="rounds"),
    path("rounds/cleaning/", views.cleaning, name="cleaning"),
    path("rounds/findings/", finding_views.findings, name="findings"),
    path("rounds/<str:round_id>/", views.one_round, name="round"),
    path("rounds/<str:round_id>/end/", views.end_round, name="end_round"),
    path("rounds/<str:round_id>/sheet/", views.sheet, name="round_sheet"),
    path("rounds/<str:round_id>/in/<str:public_id>/", views.round_room, name="round_room"),
    path("findings/<str:finding_id>/", finding_views.finding, name="finding"),
    path("findings/<str:finding_id>/change/", finding_views.change_finding, name="change_finding"),
    path("found/<str:public_id>/", finding_views.add_finding, name="add_finding"),
]
