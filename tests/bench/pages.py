"""Queries, server time and bytes of the pages people open most.

    python3 manage.py bench pages

Makes a book of 20 items with 500 open notes in a database of its own and opens desk,
wall and a room through Django's test client. Goals: at most 12 queries and 150 ms for
desk and wall; the same number of queries for a book of 48 pages.
"""

import os
import statistics
import time

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"

import django

django.setup()

from django.db import connection  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.runner import DiscoverRunner  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.urls import reverse  # noqa: E402

from board.books.models import Book  # noqa: E402
from board.books.rules import Stage, Standing  # noqa: E402
from board.permits import Role  # noqa: E402
from board.tissue.models import Note  # noqa: E402
from tests import make  # noqa: E402

ROUNDS = 9


def furnish(extent: int, notes: int) -> tuple[Book, Client]:
    """A book whose every item hangs at sketch, with open notes spread over it."""
    book, artist, director = make.book(extent=extent), make.person(), make.person()
    make.credit(on=book, who=artist, role=Role.ILLUSTRATOR)
    make.credit(on=book, who=director, role=Role.ART_DIRECTOR)
    items = list(book.items.order_by("position"))
    for item in items:
        make.at(item, Stage.THUMBNAILS, Standing.OK)
        make.at(item, Stage.SKETCH, Standing.HUNG)
    revisions = [make.revision(of=item, by=artist, number=1) for item in items]
    Note.objects.bulk_create(
        Note(
            item=revisions[place % len(items)].item,
            stage="sketch",
            raised_stage="sketch",
            made_on=revisions[place % len(items)],
            by=director,
            role=Role.ART_DIRECTOR,
            facet="art",
            sort="direction",
            words=f"Note {place}",
            mark="point",
            points=[[place % 97 / 97, place % 89 / 89]],
            state="open",
            raised_at=make.NOW,
            event=f"bench-{place:06d}",
        )
        for place in range(notes)
    )
    client = Client(headers={"host": "localhost"})
    client.force_login(director)
    return book, client


def measure(name: str, client: Client, address: str) -> None:
    """Print the queries, the median milliseconds and the bytes of one page."""
    client.get(address)
    times = []
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        page = client.get(address)
        times.append((time.perf_counter() - begin) * 1000)
    with CaptureQueriesContext(
        connection,
    ) as seen:
        client.get(address)
    size = len(page.content) / 1000
    print(  # noqa: T201 - its purpose
        f"{name:28} {page.status_code}  {len(seen):3} queries  "
        f"{statistics.median(times):6.1f} ms  {size:7.1f} kB"
    )


def main() -> None:
    """Measure books of 32 and of 48 pages, one after the other."""
    runner = DiscoverRunner(verbosity=0)
    kept = runner.setup_databases()
    try:
        for extent in (32, 48):
            book, client = furnish(extent, 500)
            item = book.items.order_by("position")[4]
            measure(f"desk, {extent} pp., 500 notes", client, reverse("desk:desk"))
            wall = reverse("wall:wall", args=[book.key])
            measure(f"wall, {extent} pp.", client, wall)
            room = reverse("viewing:item", args=[item.key])
            measure(f"room, {extent} pp.", client, room)
    finally:
        runner.teardown_databases(kept)


if __name__ == "__main__":
    main()
