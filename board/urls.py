"""Every address of the board."""

from django.urls import URLPattern, URLResolver, include, path, re_path

from board.checks.urls import api_urls as check_urls
from board.clippings.urls import api_urls as clipping_urls
from board.continuity.urls import api_urls as continuity_urls
from board.light_table.urls import api_urls as comparison_urls
from board.programs import Index, Nowhere, Schema
from board.readings.urls import api_urls as reading_urls
from board.revisions.urls import api_urls as revision_urls
from board.slips.urls import api_urls as slip_urls
from board.slips.urls import source_urls
from board.viewing.api import api_urls as item_urls

for_programs: list[URLPattern] = [
    path("", Index.as_view(), name="index"),
    path("schema/", Schema.as_view(), name="schema"),
    *item_urls,
    *revision_urls,
    *comparison_urls,
    *check_urls,
    *clipping_urls,
    *continuity_urls,
    *reading_urls,
    *slip_urls,
    re_path("(?P<rest>.+)", Nowhere.as_view(), name="nowhere"),
]

urlpatterns: list[URLPattern | URLResolver] = [
    path("people/", include("accounts.urls")),
    path("books/", include("board.books.urls")),
    path("checks/", include("board.checks.urls")),
    path("pictures/", include("board.revisions.urls")),
    path("rooms/", include("board.viewing.urls")),
    path("wall/", include("board.wall.urls")),
    path("paper/", include("board.paper.urls")),
    path("sources/", include("board.clippings.urls")),
    path("sources/", include((source_urls, "judging"))),
    path("continuity/", include("board.continuity.urls")),
    path("sittings/", include("board.sittings.urls")),
    path("readings/", include("board.readings.urls")),
    path("post/", include("board.post.urls")),
    path("api/", include((for_programs, "api"))),
    path("", include("board.outbox.urls")),
    path("", include("board.desk.urls")),
]
