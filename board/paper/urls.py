"""Addresses of what is printed, below /paper/."""

from django.urls import path

from board.paper import views

app_name = "paper"

urlpatterns = [
    path("items/<str:key>/", views.item, name="item"),
    path("items/<str:key>/tracing.pdf", views.tracing_of, name="tracing"),
    path("items/<str:key>/lines.pdf", views.item_lines, name="item-lines"),
    path("sheets/<str:key>.pdf", views.note_sheet, name="note-sheet"),
    path("books/<str:key>/", views.book, name="book"),
    path("books/<str:key>/dummy.pdf", views.dummy, name="dummy"),
    path("books/<str:key>/lines.pdf", views.book_lines, name="book-lines"),
]
