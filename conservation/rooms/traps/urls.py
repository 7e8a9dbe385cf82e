"""Addresses of insect traps, inside the namespace of rooms."""

from __future__ import annotations

from django.urls import path

from conservation.rooms.traps import views

urlpatterns = [
    path("traps/", views.traps, name="traps"),
    path("traps/<str:trap_id>/", views.trap, name="trap"),
    path("traps/<str:trap_id>/move/", views.move_trap, name="move_trap"),
    path("traps/<str:trap_id>/take/", views.take_trap, name="take_trap"),
    path("<str:public_id>/traps/", views.room_traps, name="room_traps"),
    path("<str:public_id>/traps/plan.svg", views.plan, name="trap_plan"),
    path("<str:public_id>/traps/add/", views.add_trap, name="add_trap"),
]
