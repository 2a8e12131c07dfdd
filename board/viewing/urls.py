"""Addresses of the viewing room, below /rooms/, and the live line of a book."""

from django.urls import path

from board.viewing.consumers import Live
from board.viewing.views import (
    acts,
    book_slip,
    daybook,
    descriptions,
    ledger,
    letters,
    room,
    table,
    whole,
    words,
)

app_name = "viewing"

urlpatterns = [
    path("books/<str:key>/daybook/", daybook.of_book, name="book-daybook"),
    path("books/<str:key>/daybook.pdf", daybook.book_pdf, name="book-daybook-pdf"),
    path("books/<str:key>/book-slip/", book_slip.book_slip, name="book-slip"),
    path(
        "books/<str:key>/descriptions/",
        descriptions.descriptions,
        name="descriptions",
    ),
    path(
        "books/<str:key>/descriptions.csv",
        descriptions.as_csv,
        name="descriptions-csv",
    ),
    path(
        "books/<str:key>/descriptions.json",
        descriptions.as_json,
        name="descriptions-json",
    ),
    path("notes/pictures/<str:key>/off/", acts.picture_off, name="picture-off"),
    path("books/<str:key>/format/", whole.another_format, name="format"),
    path("books/<str:key>/stations/", whole.set_stations, name="stations"),
    path("books/<str:key>/words/", words.change, name="words"),
    path("books/<str:key>/texts/<int:number>/", words.version, name="text"),
    path("books/<str:key>/ledger/", ledger.ledger, name="ledger"),
    path("look-again/<str:key>/", acts.looked_again, name="looked-again"),
    path("notes/<str:key>/<str:act>/", acts.on_note, name="note-act"),
    path("letters/", letters.letters, name="letters"),
    path("<str:key>/", room.room, name="item"),
    path("<str:key>/letter/", letters.letter, name="letter"),
    path("<str:key>/letter/initial/", letters.give_initial, name="letter-initial"),
    path("<str:key>/letter/note/", letters.write_note, name="letter-note"),
    path("<str:key>/parts/", room.parts, name="parts"),
    path("<str:key>/pictures.json", room.pictures, name="pictures"),
    path("<str:key>/notes/", acts.new_note, name="new-note"),
    path("<str:key>/slip/<str:act>/", acts.on_slip, name="slip-act"),
    path("<str:key>/slip/<str:act>/<str:subject>/", acts.on_slip, name="slip-act-on"),
    path("<str:key>/light-table/", table.light_table, name="light-table"),
    path("<str:key>/light-table/comparison/", table.comparison, name="comparison"),
    path(
        "<str:key>/light-table/change/<int:number>/",
        table.say_of_change,
        name="change",
    ),
    path("<str:key>/daybook/", daybook.of_item, name="item-daybook"),
    path("<str:key>/daybook.pdf", daybook.item_pdf, name="item-daybook-pdf"),
]

sockets = [path("live/<str:key>/", Live.as_asgi())]
