"""Addresses of sorting."""

from __future__ import annotations

from django.urls import path

from archive.sorting import group_views, lot_views, shelf_views, views

app_name = "sorting"
urlpatterns = [
    path("", views.page, name="page"),
    path("triage/", views.triage, name="triage"),
    path("first-looks/add/", views.first_look, name="first_look"),
    path("first-looks/<str:look_id>/", views.look, name="look"),
    path("first-looks/<str:look_id>/edit/", views.edit_look, name="edit_look"),
    path("first-looks/<str:look_id>/settled/", views.settle, name="settle"),
    path("lots/", lot_views.lots, name="lots"),
    path("lots/add/", lot_views.add_lot, name="add_lot"),
    path("lots/<str:lot_id>/", lot_views.lot, name="lot"),
    path("lots/<str:lot_id>/edit/", lot_views.edit_lot, name="edit_lot"),
    path("lots/<str:lot_id>/pictures/", lot_views.lot_pictures, name="lot_pictures"),
    path("lots/<str:lot_id>/what-is-in-it/", lot_views.lot_members, name="lot_members"),
    path("lots/<str:lot_id>/accept/", lot_views.accept, name="accept"),
    path("lots/<str:lot_id>/as-it-came/", lot_views.as_it_came, name="as_it_came"),
    path("lots/<str:lot_id>/kept-apart/", lot_views.quarantine, name="quarantine"),
    path("groups/", group_views.groups, name="groups"),
    path("groups/add/", group_views.add_group, name="add_group"),
    path("groups/proposed/", group_views.proposed, name="proposals"),
    path("groups/proposed/one/", group_views.proposal, name="proposal"),
    path("groups/<str:group_id>/", group_views.group, name="group"),
    path("groups/<str:group_id>/edit/", group_views.edit_group, name="edit_group"),
    path("groups/<str:group_id>/things/", group_views.group_things, name="group_things"),
    path("waiting/", shelf_views.waiting, name="waiting"),
    path("waiting/<str:thing_id>/", shelf_views.question, name="question"),
    path("standing/", shelf_views.standing, name="standing"),
    path("standing/<str:thing_id>/", shelf_views.standing, name="standing"),
]
