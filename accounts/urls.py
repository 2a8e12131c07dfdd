"""Addresses of the door."""

from django.urls import path

from accounts import views

app_name = "accounts"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-in/sent/", views.sent, name="sent"),
    path("in/<str:token>/", views.come_in, name="come-in"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("me/", views.me, name="me"),
]
