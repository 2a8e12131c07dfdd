"""Addresses of readings."""

from django.urls import path

from board.readings import views
from board.readings.api import ReadingBegins, Readings

app_name = "readings"
urlpatterns = [
    path("book/<str:key>/", views.listed, name="list"),
    path("book/<str:key>/begin/", views.begin, name="begin"),
    path("book/<str:key>/end/", views.end, name="end"),
]
api_urls = [
    path("books/<key:key>/readings/", Readings.as_view(), name="readings"),
    path(
        "books/<key:key>/readings/begin/", ReadingBegins.as_view(), name="reading-begin"
    ),
]
