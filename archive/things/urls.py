"""Addresses of things."""

from __future__ import annotations

from django.urls import path

from archive.things import list_views, loan_views, section_views, views

app_name = "things"
urlpatterns = [
    path("", list_views.thing_list, name="list"),
    path("add/", views.add, name="add"),
    path("date/", views.date_echo, name="date_echo"),
    path("<str:public_id>/", views.page, name="page"),
    path("<str:public_id>/edit/", views.edit, name="edit"),
    path("<str:public_id>/people/", section_views.people, name="people"),
    path("<str:public_id>/places/", section_views.places, name="places"),
    path("<str:public_id>/pieces/", section_views.pieces, name="pieces"),
    path("<str:public_id>/inscriptions/", section_views.inscriptions, name="inscriptions"),
    path("<str:public_id>/coming/", section_views.coming, name="coming"),
    path("<str:public_id>/owners/", section_views.owners, name="owners"),
    path("<str:public_id>/rights/", section_views.rights, name="rights"),
    path("<str:public_id>/significance/", section_views.significance, name="significance"),
    path("<str:public_id>/loans/", loan_views.loans, name="loans"),
    path("<str:public_id>/loans/<str:loan_id>/", loan_views.loan, name="loan"),
    path("<str:public_id>/loans/<str:loan_id>/slip/", loan_views.slip, name="slip"),
]
