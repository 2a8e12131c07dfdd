"""Addresses of the wall."""

from django.urls import path

from board.wall import views

app_name = "wall"
urlpatterns = [
    path("<str:key>/", views.wall, name="wall"),
    path("<str:key>/open-stage/", views.open_stage, name="open-stage"),
    path("<str:key>/tracks/", views.tracks, name="tracks"),
    path("<str:key>/colours/", views.colours, name="colours"),
]
