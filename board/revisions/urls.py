"""Addresses of the folder's pages, and of uploads and revisions in the API."""

from django.urls import path

from board.revisions import views
from board.revisions.api import OneRevision, OneUpload, Revisions, Uploads
from board.revisions.views import storyboards

app_name = "revisions"
urlpatterns = [
    path("books/<str:book_key>/send/", views.send, name="send"),
    path("books/<str:book_key>/match/", views.match, name="match"),
    path("books/<str:book_key>/storyboards/", storyboards.sheets, name="storyboards"),
    path("storyboards/<str:key>/", storyboards.sheet, name="storyboard"),
    path(
        "storyboards/<str:key>/progress/", storyboards.progress, name="sheet-progress"
    ),
    path("storyboards/<str:key>/away/", storyboards.put_away, name="sheet-away"),
    path("items/<str:item_key>/folder/", views.folder, name="folder"),
    path("uploads/<str:key>/end/", views.end, name="end"),
    path("<str:key>/progress/", views.progress, name="progress"),
    path("<str:key>/lay/", views.lay, name="lay"),
    path("<str:key>/put-away/", views.put_away, name="put-away"),
    path("<str:key>/original/", views.original, name="original"),
]
api_urls = [
    path("uploads/", Uploads.as_view(), name="uploads"),
    path("uploads/<key:key>/", OneUpload.as_view(), name="upload"),
    path("items/<key:key>/revisions/", Revisions.as_view(), name="revisions"),
    path("revisions/<key:key>/", OneRevision.as_view(), name="revision"),
]
