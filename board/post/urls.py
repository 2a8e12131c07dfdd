"""Addresses of what goes out to people, below /post/."""

from django.urls import path

from board.post import views

app_name = "post"
urlpatterns = [
    path("", views.own, name="own"),
    path("off/<str:token>/", views.off, name="off"),
    path("calendar/<str:secret>.ics", views.calendar, name="calendar"),
]
