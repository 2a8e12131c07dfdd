"""The ledger of alterations: each with its code and payer, one line each."""

from dataclasses import dataclass
from datetime import datetime

from board.books.models import Book, TextVersion
from board.slips.models import FormatChange, Reopening

NAMES = dict(Reopening.Code.choices)


@dataclass(frozen=True)
class LedgerLine:
    """One alteration that somebody pays for, or nobody by agreement."""

    at: datetime
    what: str
    code: str
    reason: str
    payer: str
    who: str

    @property
    def alteration(self) -> str:
        return NAMES.get(self.code, "")


def ledger_of(book: Book) -> list[LedgerLine]:
    """Reopenings, coded text versions and changes of format, oldest first."""
    lines = [*_reopenings(book), *_texts(book), *_formats(book)]
    return sorted(lines, key=lambda line: line.at)


def _reopenings(book: Book) -> list[LedgerLine]:
    rows = Reopening.objects.filter(item__book=book, agreed_at__isnull=False)
    return [
        LedgerLine(
            at=row.agreed_at or row.asked_at,
            what=f"{row.item.label} reopened at {row.stage}",
            code=row.code,
            reason=row.reason,
            payer=row.payer,
            who=row.asked_by.initials,
        )
        for row in rows.select_related("item", "asked_by")
    ]


def _texts(book: Book) -> list[LedgerLine]:
    rows = TextVersion.objects.filter(book=book).exclude(code="")
    return [
        LedgerLine(
            row.at,
            f"text version {row.number}",
            row.code,
            row.reason,
            row.payer,
            row.by.initials,
        )
        for row in rows.select_related("by")
    ]


def _formats(book: Book) -> list[LedgerLine]:
    return [
        LedgerLine(row.at, _told(row), row.code, row.reason, row.payer, row.by.initials)
        for row in FormatChange.objects.filter(book=book).select_related("by")
    ]


def _told(row: FormatChange) -> str:
    old, new = row.before, row.after
    told = [
        f"{name} {old[name]:g} to {new[name]:g}"
        for name in new
        if old[name] != new[name]
    ]
    return ", ".join(told)
