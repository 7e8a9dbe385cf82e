"""Addresses of This week."""

from __future__ import annotations

from django.urls import path

from conservation.this_week import calendar_views, own_views, views

app_name = "this_week"
urlpatterns = [
    path("", views.page, name="page"),
    path("all/", views.everything, name="everything"),
    path("times/", views.times, name="times"),
    path("job/<str:job>/", views.job, name="job"),
    path("job/<str:job>/start/", views.start, name="start"),
    path("job/<str:job>/put-off/", views.put_off, name="put_off"),
    path("job/<str:job>/done/", views.done, name="done"),
    path("in-hand/<str:public_id>/", views.finish, name="finish"),
    path("put-off/<str:public_id>/", views.bring_back, name="bring_back"),
    path("own/", own_views.add, name="add"),
    path("own/<str:public_id>/", own_views.edit, name="own"),
    path("month/", calendar_views.month, name="month"),
    path("calendar/", calendar_views.calendar, name="calendar"),
    path("calendar/file/", calendar_views.file, name="file"),
    path("feed/<str:token>.ics", calendar_views.feed, name="feed"),
]
