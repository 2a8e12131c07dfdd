"""What is printed of sources: the credit page and the rows of the permissions log."""

from collections.abc import Sequence

from board.books.models import Book
from board.clippings.models import Clipping
from board.clippings.queries import Told, told_of_book
from board.clippings.rules import MATTERS, Clearance

HEADINGS = (
    "source", "what", "kind", "maker", "publisher", "made", "place", "edition",
    "acquired at", "acquired on", "part used", "recognisable", "holds",
    "used on", "printed area cm2", "largest piece cm2", "places not marked",
    "rights holder", "asked", "granted", "refused", "territory", "languages", "term",
    "print run", "editions", "e-book", "merchandise", "fee", "copies",
    "credit wording", "document", "clearance", "because", "judged by", "judged on",
    "contacts", "remark",
)  # fmt: skip


def credit_lines(book: Book) -> list[str]:
    """The wording that granted sources in use ask for, each once, by code."""
    wanted = [
        told.source.credit_wording.strip()
        for told in told_of_book(book)
        if told.areas and told.source.clearance == Clearance.GRANTED
    ]
    return list(dict.fromkeys(words for words in wanted if words))


def without_wording(book: Book) -> list[Clipping]:
    """Granted sources in use whose credit wording nobody entered."""
    return [
        told.source
        for told in told_of_book(book)
        if told.areas
        and told.source.clearance == Clearance.GRANTED
        and not told.source.credit_wording.strip()
    ]


def log_rows(book: Book) -> list[tuple[str, ...]]:
    """The permissions log, one row a source, in the order of `HEADINGS`."""
    rows = book.clippings.order_by("code").prefetch_related(
        "judgements__by", "contacts__by"
    )
    return [_row(told) for told in told_of_book(book, rows)]


def _row(told: Told) -> tuple[str, ...]:
    source = told.source
    judgements = list(source.judgements.all())
    days = {
        word: ", ".join(
            f"{one.at:%Y-%m-%d}" for one in judgements if one.clearance == word
        )
        for word in (Clearance.ASKED, Clearance.GRANTED, Clearance.REFUSED)
    }
    last = judgements[-1] if judgements else None
    contacts = "\n".join(
        f"{one.on:%Y-%m-%d} {one.whom}: {one.said} ({one.by.initials})"
        for one in source.contacts.all()
    )
    return (
        source.code, source.what, source.kind, source.maker, source.publisher,
        source.made_on, source.place, source.edition, source.acquired_at,
        source.acquired_on, source.part_used, source.recognisable, holds(source),
        ", ".join(area.item.label for area in told.areas),
        f"{told.cm2:.1f}", f"{told.largest:.1f}", str(told.unplaced),
        source.rights_holder, *days.values(),
        source.territory, source.languages, source.term, source.print_run,
        source.editions, source.e_book, source.merchandise, source.fee, source.copies,
        source.credit_wording, source.document, source.clearance, source.because,
        last.by.name if last else "", f"{last.at:%Y-%m-%d}" if last else "",
        contacts, source.remark,
    )  # fmt: skip


def holds(source: Clipping) -> str:
    """What lies in the scrap, as far as somebody answered."""
    told = [
        f"{words}: {source.matters[name]}"
        for name, words in MATTERS.items()
        if source.matters.get(name)
    ]
    return "; ".join(told)


def as_dicts(rows: Sequence[Sequence[str]]) -> list[dict[str, str]]:
    """Rows by their headings."""
    return [dict(zip(HEADINGS, row, strict=True)) for row in rows]
