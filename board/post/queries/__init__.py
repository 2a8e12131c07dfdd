"""What is to be mailed to whom, and what people wish."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.core import signing
from django.db.models import Max, Q, QuerySet

from accounts.models import Person
from board.books.models import Book, Credit, Item
from board.books.queries import books_for
from board.daybook.models import Entry
from board.errors import NotFound
from board.post.models import Outgoing, Quiet, Reached, Wishes
from board.post.rules import at_once, digest_day
from board.slips.queries.due import zone_of
from board.slips.queries.waiting import Waiting, waiting_for

OFF = "board.post.off"
Wanted = tuple[int, str]  # item, and what is wanted there


@dataclass(frozen=True)
class BookMailed:
    """A book on one's own page: whether its mails come."""

    book: Book
    quiet: bool


def want_name(waiting: Waiting) -> str:
    """What is wanted, as rows keep it."""
    facet = waiting.want.facet
    return (
        f"{waiting.want.kind.name}:{facet.value}" if facet else waiting.want.kind.name
    )


def wanted_at_once(person: Person, book: Book) -> dict[Wanted, Waiting]:
    """What waits for this person alone on a book, with all that they may know of it."""
    found = waiting_for(person, list(books_for(person).filter(pk=book.pk)))
    return {(one.item.pk, want_name(one)): one for one in found if at_once(one.want)}


def books_to_look_at() -> list[Book]:
    """Books in whose daybook something was entered since they were looked at."""
    heads = dict(
        Entry.objects.order_by()
        .values_list("book_key")
        .annotate(head=Max("number"))
        .values_list("book_key", "head")
    )
    reached = dict(Reached.objects.values_list("book__key", "number"))
    behind = [key for key, head in heads.items() if head > reached.get(key, 0)]
    return list(Book.objects.filter(key__in=behind))


def last_entry_on(item: Item) -> int:
    """The number of the item's newest entry in its book's daybook."""
    rows = Entry.objects.filter(book_key=item.book.key, item_key=item.key)
    return int(rows.aggregate(top=Max("number"))["top"] or 0)


def wishes_of(person: Person) -> Wishes:
    """What mails the person wants; the usual ones if they never said."""
    return Wishes.objects.filter(person=person).first() or Wishes(person=person)


def quiet_books(person: Person) -> frozenset[int]:
    """Books of which the person wants no mails."""
    rows = Quiet.objects.filter(person=person)
    return frozenset(rows.values_list("book", flat=True))


def books_mailed(person: Person) -> list[BookMailed]:
    """The person's books with whether mails about them come."""
    quiet = quiet_books(person)
    return [BookMailed(book, book.pk in quiet) for book in books_for(person)]


def digests_due(now: datetime) -> list[tuple[Person, date]]:
    """Who is to be sent a digest now, and for which day of their own."""
    live = Credit.objects.filter(ended_at=None).values("person")
    people = Person.objects.filter(pk__in=live, is_active=True)
    kept = {row.person_id: row for row in Wishes.objects.filter(person__in=people)}
    days = Outgoing.objects.filter(
        kind=Outgoing.Kind.DIGEST, made_at__gt=now - timedelta(days=3)
    )
    last: dict[int, datetime] = {}
    made = set()
    for person_id, event, at in days.values_list("person", "event", "made_at"):
        made.add((person_id, event))
        last[person_id] = max(at, last.get(person_id, at))
    due = []
    for person in people.order_by("pk"):
        wishes = kept.get(person.pk) or Wishes(person=person)
        local = now.astimezone(zone_of(person))
        day = digest_day(local, hour=wishes.hour, last=last.get(person.pk))
        if wishes.digest and day and (person.pk, day.isoformat()) not in made:
            due.append((person, day))
    return due


def last_digest(person: Person) -> Outgoing | None:
    """The digest that was last really sent."""
    rows = Outgoing.objects.filter(
        person=person, kind=Outgoing.Kind.DIGEST, sent_at__isnull=False
    )
    return rows.order_by("-sent_at").first()


def due_rows(now: datetime) -> QuerySet[Outgoing]:
    """Mails that may be tried now and that no worker holds."""
    free = Q(lease_until=None) | Q(lease_until__lt=now)
    rows = Outgoing.objects.filter(free, sent_at=None, ended_at=None, due_at__lte=now)
    return rows.select_related("person", "book")


def trouble_of(person: Person) -> Outgoing | None:
    """The last mail to this person, if it could not be delivered."""
    rows = Outgoing.objects.filter(person=person).exclude(
        sent_at=None, trouble="", ended_at=None
    )
    newest = rows.order_by("-made_at").first()
    return newest if newest and newest.trouble and not newest.sent_at else None


def off_token(person: Person, book: Book | None) -> str:
    """What an address to stop mails carries; it opens nothing else."""
    about = [person.key, book.key if book else ""]
    return signing.Signer(salt=OFF).sign_object(about)


def read_off_token(token: str) -> tuple[Person, Book | None]:
    """Whose mails about which book an address stops; all digests without a book."""
    try:
        person_key, book_key = signing.Signer(salt=OFF).unsign_object(token)
    except (signing.BadSignature, TypeError, ValueError):
        raise NotFound from None
    person = Person.objects.filter(key=person_key).first()
    book = Book.objects.filter(key=book_key).first() if book_key else None
    if person is None or (book_key and book is None):
        raise NotFound
    return person, book
