"""Invariant 18, two people at once: nothing is lost and nothing is doubled.

The same tests run on SQLite and, with the services, on PostgreSQL.
"""

import threading
from collections.abc import Callable

import pytest
from django.db import connections

from accounts.models import Person
from board.books.models import Book
from board.books.queries import text_of
from board.books.rules import Stage, Standing
from board.daybook.queries import broken_at
from board.errors import BoardError, Stale
from board.permits import Role
from board.slips.actions import initials, stages, texts
from board.slips.models import Initial
from board.slips.queries.receipts import receipt_for
from tests import make


def _together(*acts: Callable[[], object]) -> list[BoardError]:
    """Do the acts at the same moment, each on a connection of its own."""
    ready = threading.Barrier(len(acts))
    refused: list[BoardError] = []

    def run(act: Callable[[], object]) -> None:
        ready.wait()
        try:
            act()
        except BoardError as stopped:
            refused.append(stopped)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return refused


@pytest.mark.django_db(transaction=True)
def test_an_initial_and_a_new_revision_end_one_way_or_the_other() -> None:
    book: Book = make.book()
    artist, designer = make.person(), make.person()
    make.credit(on=book, who=artist, role=Role.ILLUSTRATOR)
    make.credit(on=book, who=designer, role=Role.DESIGNER)
    item = book.items.get(label="8-9")
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    first = make.revision(of=item, by=artist)
    stages.send_up(by=artist, revision=first, event=make.event())
    receipt = receipt_for(designer, item, first)
    second = make.revision(of=item, by=artist)

    refused = _together(
        lambda: initials.initial(
            by=designer,
            item=item,
            facet="fit",
            receipt=receipt,
            event="race-initial",
        ),
        lambda: stages.send_up(by=artist, revision=second, event="race-send-up"),
    )
    live = Initial.objects.filter(ended_at=None)
    assert not live.filter(bound_sha256=first.sha256).exists()
    lapsed = Initial.objects.filter(facet="fit", ended_at__isnull=False).count()
    assert lapsed + len(refused) == 1
    assert broken_at(book.key) is None


@pytest.mark.django_db(transaction=True)
def test_two_initials_at_one_station_leave_one_live() -> None:
    book = make.book()
    artist, one, other = make.person(), make.person(), make.person()
    make.credit(on=book, who=artist, role=Role.ILLUSTRATOR)
    for designer in (one, other):
        make.credit(on=book, who=designer, role=Role.DESIGNER)
    item = book.items.get(label="8-9")
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    first = make.revision(of=item, by=artist)
    stages.send_up(by=artist, revision=first, event=make.event())
    receipts = {who.pk: receipt_for(who, item, first) for who in (one, other)}

    refused = _together(
        *(
            lambda who=who: initials.initial(
                by=who,
                item=item,
                facet="fit",
                receipt=receipts[who.pk],
                event="race-initial",
            )
            for who in (one, other)
        )
    )
    assert Initial.objects.filter(facet="fit", ended_at=None).count() == 1
    assert len(refused) == 1
    assert broken_at(book.key) is None


@pytest.mark.django_db(transaction=True)
def test_two_text_versions_from_one_state_leave_one_and_show_both() -> None:
    book = make.book()
    one, other = make.person(), make.person()
    for editor in (one, other):
        make.credit(on=book, who=editor, role=Role.EDITOR)
    item = book.items.get(label="8-9")
    texts.make_text_version(
        by=one,
        book=book,
        words={item.key: "forty"},
        reasons={},
        event="first-words",
    )

    def change(who: Person, words: str) -> object:
        return texts.make_text_version(
            by=who,
            book=book,
            words={item.key: words},
            reasons={},
            event=f"race-{words}",
            on=1,
        )

    refused = _together(lambda: change(one, "fifty"), lambda: change(other, "sixty"))
    assert len(refused) == 1
    kept = text_of(item)
    assert kept is not None
    assert kept.words in {"fifty", "sixty"}
    stale = refused[0]
    assert isinstance(stale, Stale)
    assert list(stale.now.values()) == [kept.words]
    assert broken_at(book.key) is None


@pytest.mark.django_db(transaction=True)
def test_an_initial_and_new_words_end_one_way_or_the_other() -> None:
    book = make.book()
    artist, designer, editor = make.person(), make.person(), make.person()
    make.credit(on=book, who=artist, role=Role.ILLUSTRATOR)
    make.credit(on=book, who=designer, role=Role.DESIGNER)
    make.credit(on=book, who=editor, role=Role.EDITOR)
    item = book.items.get(label="8-9")
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    up = make.revision(of=item, by=artist)
    stages.send_up(by=artist, revision=up, event=make.event())
    receipt = receipt_for(designer, item, up)
    refused = _together(
        lambda: initials.initial(
            by=designer, item=item, facet="fit", receipt=receipt, event="race-initial"
        ),
        lambda: texts.make_text_version(
            by=editor,
            book=book,
            words={item.key: "fifty"},
            reasons={},
            event="race-words",
        ),
    )
    assert not Initial.objects.filter(facet="fit", ended_at=None).exists()
    lapsed = Initial.objects.filter(facet="fit", ended_at__isnull=False).count()
    assert lapsed + len(refused) == 1
    assert broken_at(book.key) is None
