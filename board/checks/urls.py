"""Addresses of checks and of the printing condition."""

from django.urls import path

from board.checks import views
from board.checks.api import Printing, RevisionChecks

app_name = "checks"
urlpatterns = [
    path("books/<str:key>/printing/", views.printing, name="printing"),
    path("<str:key>/", views.revision, name="revision"),
]
api_urls = [
    path("revisions/<key:key>/checks/", RevisionChecks.as_view(), name="checks"),
    path("books/<key:key>/printing/", Printing.as_view(), name="printing"),
]
