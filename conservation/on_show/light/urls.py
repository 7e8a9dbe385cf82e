"""Addresses of light."""

from __future__ import annotations

from django.urls import path

from conservation.on_show.light import views

urlpatterns = [
    path("policy/", views.policy, name="policy"),
    path("thing/<str:public_id>/light/", views.thing, name="thing_light"),
    path("thing/<str:public_id>/light/say/", views.say, name="say_light"),
    path("thing/<str:public_id>/light/use/", views.use, name="use_light"),
    path("thing/<str:public_id>/light/use/<str:row_id>/remove/", views.unuse, name="unuse_light"),
    path("thing/<str:public_id>/bar/", views.bar, name="bar"),
    path("thing/<str:public_id>/bar/<str:row_id>/remove/", views.unbar, name="unbar"),
    path("spot/<str:public_id>/hang/", views.hang, name="hang"),
    path("showing/<str:public_id>/down/", views.down, name="take_down"),
]
