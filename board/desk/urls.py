"""Addresses of the desk."""

from django.urls import path

from board.desk import views

app_name = "desk"
urlpatterns = [path("", views.desk, name="desk")]
