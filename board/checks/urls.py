"""Addresses of checks and of the printing condition."""

from django.urls import path

from board.checks import views

app_name = "checks"
urlpatterns = [
    path("books/<str:key>/printing/", views.printing, name="printing"),
    path("<str:key>/", views.revision, name="revision"),
]
