"""Addresses of the continuity sheet."""

from django.urls import path

from board.continuity import views

app_name = "continuity"
urlpatterns = [
    path("book/<str:key>/", views.sheet, name="sheet"),
    path("<str:key>/", views.thing, name="thing"),
    path("<str:key>/on/<str:item>/", views.place, name="place"),
]
