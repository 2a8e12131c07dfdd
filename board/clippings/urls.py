"""Addresses of sources; judging one lies with sign-off."""

from django.urls import path

from board.clippings import views
from board.clippings.api import Clippings, Offers, OneClipping
from board.clippings.api.contacts import Contacts

app_name = "sources"
urlpatterns = [
    path("book/<str:key>/", views.listed, name="list"),
    path("book/<str:key>/new/", views.new, name="new"),
    path("book/<str:key>/credits/", views.credit_page, name="credits"),
    path("book/<str:key>/log.csv", views.log_csv, name="log-csv"),
    path("book/<str:key>/log.pdf", views.log_pdf, name="log-pdf"),
    path("<str:key>/", views.source, name="source"),
    path("<str:key>/record/", views.record, name="record"),
    path("<str:key>/photographs/", views.photographs, name="photographs"),
    path("<str:key>/documents/", views.documents, name="documents"),
    path("<str:key>/contacts/", views.contacts, name="contacts"),
    path("<str:key>/mark/<str:item>/", views.mark, name="mark"),
]
api_urls = [
    path("books/<key:key>/clippings/", Clippings.as_view(), name="clippings"),
    path("books/<key:key>/offers/", Offers.as_view(), name="offers"),
    path("clippings/<key:key>/", OneClipping.as_view(), name="clipping"),
    path("clippings/<key:key>/contacts/", Contacts.as_view(), name="contacts"),
]
