"""Addresses of the outbox; the worker stands at the root, which is its scope."""

from django.urls import path

from board.outbox import views

app_name = "outbox"

urlpatterns = [
    path("worker.js", views.worker, name="worker"),
    path("waiting/", views.waiting, name="waiting"),
    path("waiting/rights.json", views.rights, name="rights"),
    path("waiting/no-line/", views.no_line, name="no-line"),
]
