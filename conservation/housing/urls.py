"""Addresses of housing."""

from __future__ import annotations

from django.urls import path

from conservation.housing import views

app_name = "housing"
urlpatterns = [
    path("", views.needs, name="needs"),
    path("thing/<str:public_id>/sheet/", views.sheet, name="sheet"),
    path("thing/<str:public_id>/card/", views.card, name="card"),
    path("thing/<str:public_id>/decide/", views.decide, name="decide"),
    path("thing/<str:public_id>/done/", views.done, name="done"),
    path("box/<str:public_id>/place/", views.place, name="place"),
]
