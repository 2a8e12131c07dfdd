"""Addresses of sign-off for programs; its pages are the viewing room's, but for sources."""

from django.urls import URLPattern, path

from board.slips import views
from board.slips.api import (
    books,
    initials,
    moves,
    notes,
    pictures,
    sheets,
    signing,
    sources,
    texts,
)

source_urls: list[URLPattern] = [
    path("<str:key>/clearance/", views.clearance, name="clearance"),
    path("<str:key>/on/<str:item>/", views.use, name="use"),
    path("uses/<str:key>/off/", views.use_off, name="use-off"),
    path("offers/<str:key>/", views.offer, name="offer"),
]

api_urls: list[URLPattern] = [
    path("books/<key:key>/events/", moves.Events.as_view(), name="events"),
    path("books/<key:key>/moves/", books.BookMoves.as_view(), name="book-moves"),
    path("books/<key:key>/deputies/", signing.Deputies.as_view(), name="deputies"),
    path("books/<key:key>/texts/", texts.Texts.as_view(), name="texts"),
    path("deputies/<key:key>/end/", signing.DeputyEnds.as_view(), name="end-deputy"),
    path("items/<key:key>/notes/", notes.Notes.as_view(), name="notes"),
    path("items/<key:key>/pairs/", sheets.Pairs.as_view(), name="pairs"),
    path(
        "items/<key:key>/note-sheets/", sheets.NoteSheets.as_view(), name="note-sheets"
    ),
    path("items/<key:key>/initials/", initials.Initials.as_view(), name="initials"),
    path("items/<key:key>/receipt/", initials.Receipt.as_view(), name="receipt"),
    path("items/<key:key>/refusals/", initials.Refusals.as_view(), name="refusals"),
    path("items/<key:key>/moves/", moves.Moves.as_view(), name="moves"),
    path("notes/<key:key>/", notes.OneNote.as_view(), name="note"),
    path("notes/<key:key>/replies/", notes.Replies.as_view(), name="replies"),
    path("notes/<key:key>/acts/", notes.NoteActs.as_view(), name="note-acts"),
    path(
        "note-pictures/<key:key>/", pictures.NotePictures.as_view(), name="note-picture"
    ),
    path("note-sheets/<key:key>/", sheets.OneNoteSheet.as_view(), name="note-sheet"),
    path("initials/<key:key>/pull/", initials.Pull.as_view(), name="pull"),
    path(
        "clippings/<key:key>/clearance/",
        sources.ClippingClearance.as_view(),
        name="clearance",
    ),
    path("clippings/<key:key>/uses/", sources.ClippingUses.as_view(), name="uses"),
    path("uses/<key:key>/off/", sources.UseEnds.as_view(), name="use-off"),
    path("offers/<key:key>/", sources.OfferAnswers.as_view(), name="offer"),
]
