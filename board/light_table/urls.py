"""Addresses of comparisons in the API; their page is the viewing room's."""

from django.urls import path

from board.light_table.api import Comparisons, OneComparison

app_name = "light_table"
urlpatterns: list[object] = []
api_urls = [
    path("comparisons/", Comparisons.as_view(), name="comparisons"),
    path("comparisons/<key:key>/", OneComparison.as_view(), name="comparison"),
]
