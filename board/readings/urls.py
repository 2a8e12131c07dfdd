"""Addresses of readings."""

from django.urls import path

from board.readings import views

app_name = "readings"
urlpatterns = [
    path("book/<str:key>/", views.listed, name="list"),
    path("book/<str:key>/begin/", views.begin, name="begin"),
    path("book/<str:key>/end/", views.end, name="end"),
]
