"""Books and items for programs: what a room shows, as plain values."""

from typing import Any

from django.urls import URLPattern, path
from django.utils.http import parse_etags
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse
from rest_framework.views import APIView

from accounts.models import Person
from board.books.actions.describing import LONGEST, describe
from board.books.models import Book, Box, Item
from board.books.queries import (
    book_for,
    books_for,
    credits_of,
    item_for,
    items_of_book,
    text_of,
)
from board.books.rules import Ends, Kind
from board.daybook.queries import happened_already
from board.errors import Stale
from board.permits import Act
from board.problems import PreconditionNeeded, problems, write_problems
from board.programs import CURSOR, KEY, Pages, PageSerializer, person_of, read
from board.revisions.queries import currents
from board.slips.actions.locked import event_of
from board.slips.api.asking import ROLES, EventSerializer
from board.slips.api.notes import ETAG, IF_MATCH
from board.slips.api.standing import StandingSerializer, told_standing
from board.slips.queries.lines import standing_of
from board.slips.queries.sentences import why_not_ok_of_book
from board.tissue.queries import open_counts

BOOK_FIELDS = (
    "key", "title", "house", "trim_width_mm", "trim_height_mm", "extent", "ends",
    "bleed_mm", "safe_mm", "gutter_mm", "preset", "author_approves", "notes_at_once",
)  # fmt: skip
ITEM_KINDS = [kind.value for kind in Kind]
ITEM_FIELDS = ("key", "label", "kind", "first_page", "last_page", "story", "alt_text")


class BookSerializer(serializers.Serializer[Any]):
    """A book that you are credited on; lengths in millimetres."""

    key = serializers.CharField()
    title = serializers.CharField()
    house = serializers.CharField(allow_blank=True)
    trim_width_mm = serializers.FloatField()
    trim_height_mm = serializers.FloatField()
    extent = serializers.IntegerField()
    ends = serializers.ChoiceField([ends.value for ends in Ends])
    bleed_mm = serializers.FloatField()
    safe_mm = serializers.FloatField()
    gutter_mm = serializers.FloatField()
    preset = serializers.ChoiceField(Book.Preset.choices)
    author_approves = serializers.BooleanField()
    notes_at_once = serializers.BooleanField()
    credits = serializers.ListField(
        child=serializers.ChoiceField(ROLES), help_text="Your own."
    )
    items = serializers.CharField(help_text="Address of its items.")
    events = serializers.CharField(help_text="Address of what happened.")


class BookPageSerializer(PageSerializer):
    results = BookSerializer(many=True)


class ItemSerializer(serializers.Serializer[Any]):
    """A spread, single page, ends, title, jacket or case."""

    key = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]  # the member's name
    kind = serializers.ChoiceField(ITEM_KINDS)
    first_page = serializers.IntegerField(help_text="0 outside the book block.")
    last_page = serializers.IntegerField()
    story = serializers.BooleanField()
    alt_text = serializers.CharField(allow_blank=True)
    stage = serializers.CharField(allow_null=True, help_text="The latest open one.")
    standing = serializers.CharField()
    why_not_ok = serializers.CharField(
        allow_blank=True, help_text="The first sentence; empty when OK."
    )
    open_notes = serializers.DictField(
        child=serializers.IntegerField(), help_text="Counted by class."
    )
    revision = serializers.CharField(allow_null=True, help_text="The current one.")
    address = serializers.CharField()


class ItemPageSerializer(PageSerializer):
    results = ItemSerializer(many=True)


class BoxSerializer(serializers.Serializer[Any]):
    """A type or focal box, in fractions of the trimmed sheet."""

    key = serializers.CharField()
    sort = serializers.ChoiceField(Box.Sort.choices)
    label = serializers.CharField(allow_blank=True)  # type: ignore[assignment]  # the member's name
    x = serializers.FloatField()
    y = serializers.FloatField()
    width = serializers.FloatField()
    height = serializers.FloatField()


class TextSerializer(serializers.Serializer[Any]):
    number = serializers.IntegerField(help_text="The text version.")
    words = serializers.CharField(allow_blank=True)
    art_note = serializers.CharField(allow_blank=True)


class SheetSizeSerializer(serializers.Serializer[Any]):
    width_mm = serializers.FloatField()
    height_mm = serializers.FloatField()
    double = serializers.BooleanField()


class OneItemSerializer(ItemSerializer):
    """An item with its words, boxes and where it stands."""

    book = serializers.CharField()
    sheet = SheetSizeSerializer()
    text = TextSerializer(allow_null=True)
    boxes = BoxSerializer(many=True)
    standing_now = StandingSerializer()


class DescriptionSerializer(EventSerializer):
    """What an item's picture shows."""

    alt_text = serializers.CharField(allow_blank=True, max_length=LONGEST)


def told_book(book: Book, person: Person, request: Request) -> dict[str, Any]:
    """A book with this reader's own credits."""
    told = {name: getattr(book, name) for name in BOOK_FIELDS}
    ways = {
        name: reverse(f"api:{name}", args=[book.key], request=request)
        for name in ("items", "events")
    }
    credits = sorted(role.value for role in credits_of(person, book))
    return dict(BookSerializer(told | ways | {"credits": credits}).data)


def told_items(
    items: list[Item], book: Book, person: Person, request: Request
) -> list[dict[str, Any]]:
    """Items as their reader may know them; queries do not grow with their number."""
    first = why_not_ok_of_book(book, person, items)
    counts = open_counts(book, person)
    revisions = currents(book)
    told = []
    for item in items:
        row, revision = standing_of(item), revisions.get(item.pk)
        address = reverse("api:item", args=[item.key], request=request)
        told.append(
            {name: getattr(item, name) for name in ITEM_FIELDS}
            | {
                "stage": row.stage if row else None,
                "standing": row.standing if row else "shut",
                "why_not_ok": first[item.key],
                "open_notes": counts.get(item.key, {}),
                "revision": revision.key if revision else None,
                "address": address,
            }
        )
    return told


class Books(APIView):
    """The books that you are credited on."""

    @extend_schema(
        operation_id="books_list",
        parameters=[CURSOR],
        responses={200: BookPageSerializer, **problems()},
    )
    def get(self, request: Request) -> Response:
        """Books by title."""
        person = person_of(request)
        pages = Pages("title", "pk")
        rows = pages.rows(books_for(person), request, self)
        return pages.answer([told_book(book, person, request) for book in rows])


@extend_schema(parameters=[KEY])
class OneBook(APIView):
    """One book."""

    @extend_schema(
        operation_id="book_read", responses={200: BookSerializer, **problems()}
    )
    def get(self, request: Request, key: str) -> Response:
        """Its format, and what you are credited as."""
        person = person_of(request)
        return Response(told_book(book_for(person, key), person, request))


@extend_schema(parameters=[KEY])
class Items(APIView):
    """The items of a book."""

    @extend_schema(
        operation_id="items_list",
        parameters=[CURSOR],
        responses={200: ItemPageSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Items in page order, each with its standing and why it is not OK."""
        person = person_of(request)
        book = book_for(person, key)
        pages = Pages("position")
        rows = pages.rows(items_of_book(book), request, self)
        told = told_items(rows, book, person, request)
        return pages.answer(list(ItemSerializer(told, many=True).data))


@extend_schema(parameters=[KEY])
class OneItem(APIView):
    """One item."""

    @extend_schema(
        operation_id="item_read",
        parameters=[ETAG],
        responses={200: OneItemSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Standing, stages, slip, boxes, words, why it is not OK and what you may do."""
        person = person_of(request)
        item = item_for(person, key)
        return _told_item(item, person, request)

    @extend_schema(
        operation_id="item_describe",
        parameters=[IF_MATCH, ETAG],
        request=DescriptionSerializer,
        responses={200: OneItemSerializer, **write_problems(412, 428)},
    )
    def patch(self, request: Request, key: str) -> Response:
        """Say what the item's picture shows; only the editor may."""
        person = person_of(request)
        item = item_for(person, key, Act.EDIT_TEXT)
        said = read(DescriptionSerializer, request)
        wanted = request.headers.get("If-Match")
        if not wanted:
            raise PreconditionNeeded
        named = parse_etags(wanted)
        sent = happened_already(item.book.key, event_of(person, said["event"]))
        if not sent and named != ["*"] and _etag(item) not in named:
            raise Stale
        kept = describe(
            item,
            said["alt_text"],
            by=person,
            version=item.version,
            event=event_of(person, said["event"]),
        )
        return _told_item(kept, person, request)


def _etag(item: Item) -> str:
    """The item's own version; standings and notes have their own."""
    return f'"{item.key}-{item.version}"'


def _told_item(item: Item, person: Person, request: Request) -> Response:
    text = text_of(item)
    told = told_items([item], item.book, person, request)[0]
    told |= {
        "book": item.book.key,
        "sheet": {
            "width_mm": item.width_mm,
            "height_mm": item.height_mm,
            "double": item.is_double,
        },
        "text": text
        and {
            "number": text.text.number,
            "words": text.words,
            "art_note": text.art_note,
        },
        "boxes": list(item.boxes.all()),
        "standing_now": told_standing(item, person),
    }
    return Response(OneItemSerializer(told).data, headers={"ETag": _etag(item)})


api_urls: list[URLPattern] = [
    path("books/", Books.as_view(), name="books"),
    path("books/<key:key>/", OneBook.as_view(), name="book"),
    path("books/<key:key>/items/", Items.as_view(), name="items"),
    path("items/<key:key>/", OneItem.as_view(), name="item"),
]
