"""Addresses of the continuity sheet."""

from django.urls import path

from board.continuity import views
from board.continuity.api import OneThing, ThingPlaces, Things

app_name = "continuity"
urlpatterns = [
    path("book/<str:key>/", views.sheet, name="sheet"),
    path("<str:key>/", views.thing, name="thing"),
    path("<str:key>/on/<str:item>/", views.place, name="place"),
]
api_urls = [
    path("books/<key:key>/things/", Things.as_view(), name="things"),
    path("things/<key:key>/", OneThing.as_view(), name="thing"),
    path("things/<key:key>/places/", ThingPlaces.as_view(), name="thing-places"),
]
