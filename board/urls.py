"""Every address of the board."""

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("people/", include("accounts.urls")),
    path("books/", include("board.books.urls")),
    path("wall/", include("board.wall.urls")),
    path("", include("board.desk.urls")),
]
