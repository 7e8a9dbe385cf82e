"""Addresses of the archive's health."""

from __future__ import annotations

from django.urls import path

from archive.keeping import views

app_name = "keeping"
urlpatterns = [
    path("", views.health, name="health"),
    path("snapshot/", views.snapshot, name="snapshot"),
    path("check/", views.check, name="check"),
    path("restore/<str:name>/", views.restore, name="restore"),
    path("errands/", views.errands, name="errands"),
    path("errands/<str:public_id>/", views.errand, name="errand"),
    path("errands/<str:public_id>/stop/", views.stop, name="stop"),
    path("report/", views.report, name="report"),
]
