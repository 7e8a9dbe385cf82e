"""Addresses of plans, changeovers and captions."""

from __future__ import annotations

from django.urls import path

from conservation.on_show.plans import hand_views, sheet_views, views

urlpatterns = [
    path("plans/", views.plans, name="plans"),
    path("plans/add/", views.add, name="add_plan"),
    path("plans/<str:public_id>/", views.plan, name="plan"),
    path("plans/<str:public_id>/asked/", views.settings, name="plan_settings"),
    path("plans/<str:public_id>/wishes/", views.wishes, name="plan_wishes"),
    path("plans/<str:public_id>/wishes/add/", views.add_wish, name="plan_add_wish"),
    path("plans/<str:public_id>/work-out/", views.work, name="plan_work"),
    path("plans/<str:public_id>/stop/", views.stop, name="plan_stop"),
    path("plans/<str:public_id>/accept/", views.accept, name="plan_accept"),
    path("plans/<str:public_id>/put-up/", hand_views.put_up, name="plan_put_up"),
    path("plans/<str:public_id>/showing/<str:showing_id>/", hand_views.showing, name="plan_showing"),
    path("plans/<str:public_id>/day/<int:week>/", sheet_views.sheet, name="changeover"),
    path("plans/<str:public_id>/day/<int:week>/captions/", sheet_views.captions, name="captions"),
]
