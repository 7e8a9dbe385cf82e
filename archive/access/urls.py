"""Addresses of signing in, accounts, histories, and withdrawing."""

from __future__ import annotations

from django.urls import path

from archive.access import uniting_views, views

app_name = "access"
urlpatterns = [
    path("welcome/", views.first_keeper, name="first_keeper"),
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("password/", views.password, name="password"),
    path("accounts/", views.people, name="people"),
    path("accounts/invite/", views.invite, name="invite"),
    path("accounts/<str:public_id>/", views.account, name="account"),
    path("invitations/<str:public_id>/withdraw/", views.withdraw_invitation, name="withdraw_invitation"),
    path("join/<str:secret>/", views.accept_invitation, name="accept_invitation"),
    path("history/<str:code>/<str:public_id>/", views.history, name="history"),
    path("undo/<str:public_id>/", views.undo_change, name="undo"),
    path("withdrawn/", views.withdrawn, name="withdrawn"),
    path("withdraw/<str:code>/<str:public_id>/", views.withdraw, name="withdraw"),
    path("bring-back/<str:code>/<str:public_id>/", views.bring_back, name="bring_back"),
    path("destroy/<str:code>/<str:public_id>/", views.destroy, name="destroy"),
    path("unite/<str:code>/<str:public_id>/", uniting_views.unite, name="unite"),
]
