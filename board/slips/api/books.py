"""Acts on a whole book for programs: looked at first, then held to what was shown."""

from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from accounts.models import Person
from board.books.actions.formats import FormatDraft, StationsDraft
from board.books.models import Book
from board.books.queries import book_for
from board.daybook.queries import happened_already
from board.errors import NotUnderstood
from board.permits import Act
from board.problems import write_problems
from board.programs import KEY, person_of, read
from board.slips.actions import formats, stations, texts
from board.slips.actions.locked import event_of
from board.slips.actions.ripples import as_foreseen, foreseen

Said = dict[str, Any]
LONGEST_WORDS = 12_000
LOOKED = "only-looked-at"
ACTS = {
    "change_format": Act.CHANGE_FORMAT,
    "change_text": Act.EDIT_TEXT,
    "set_stations": Act.SET_STATIONS,
}


class BookMoveSerializer(serializers.Serializer[Any]):
    """A change of format, words or stations; what is left out stays as it is."""

    move = serializers.ChoiceField(list(ACTS))
    version = serializers.IntegerField(
        help_text="The book's, that it was decided on; of words the text version's."
    )
    words = serializers.DictField(
        required=False,
        child=serializers.CharField(allow_blank=True, max_length=LONGEST_WORDS),
        help_text="New words by the item's key, for `change_text`.",
    )
    event = serializers.CharField(min_length=8, max_length=40, required=False)
    ripple = serializers.CharField(
        max_length=64,
        required=False,
        help_text="The digest that was shown. Without it nothing is done, only shown.",
    )
    trim_width_mm = serializers.FloatField(required=False)
    trim_height_mm = serializers.FloatField(required=False)
    bleed_mm = serializers.FloatField(required=False)
    extent = serializers.IntegerField(required=False)
    reason = serializers.CharField(required=False, max_length=300)
    code = serializers.CharField(required=False, max_length=2)
    payer = serializers.CharField(required=False, max_length=120)
    preset = serializers.CharField(required=False, max_length=8)
    stations = serializers.DictField(
        required=False, child=serializers.ListField(child=serializers.CharField())
    )
    author_approves = serializers.BooleanField(required=False)
    notes_at_once = serializers.BooleanField(required=False)


class RippleSerializer(serializers.Serializer[Any]):
    """What it touches; send `digest` back as `ripple` to have it done."""

    done = serializers.BooleanField()
    digest = serializers.CharField()
    touches = serializers.DictField()


@extend_schema(parameters=[KEY])
class BookMoves(APIView):
    """What moves a whole book."""

    @extend_schema(
        operation_id="book_move",
        request=BookMoveSerializer,
        responses={200: RippleSerializer, **write_problems(412)},
    )
    def post(self, request: Request, key: str) -> Response:
        """Show what it would touch; with its digest, do exactly that."""
        person = person_of(request)
        move = request.data.get("move") if isinstance(request.data, dict) else None
        book = book_for(person, key, ACTS.get(str(move), Act.LOOK))
        said = read(BookMoveSerializer, request)

        def do() -> object:
            return DO[said["move"]](person, book, said)

        if said.get("ripple") and not said.get("event"):
            raise NotUnderstood(
                "Every write carries an event id, so that sent twice it is done once."
            )
        ripple = foreseen(book, do)
        sent = happened_already(book.key, event_of(person, said.get("event") or LOOKED))
        if said.get("ripple") and not sent:
            as_foreseen(book, said["ripple"], do)
        told = {"done": bool(said.get("ripple")), "digest": ripple.digest}
        return Response(RippleSerializer(told | {"touches": asdict(ripple)}).data)


def _change_format(by: Person, book: Book, said: Said) -> object:
    was = asdict(FormatDraft.of(book))
    draft = FormatDraft(**{name: said.get(name, old) for name, old in was.items()})
    reasons = {name: said.get(name, "") for name in ("reason", "code", "payer")}
    return formats.change_format(
        by=by,
        book=book,
        draft=draft,
        reasons=reasons,
        version=said["version"],
        event=said.get("event") or LOOKED,
    )


def _change_text(by: Person, book: Book, said: Said) -> object:
    reasons = {name: said.get(name, "") for name in ("reason", "code", "payer")}
    return texts.make_text_version(
        by=by,
        book=book,
        words=said.get("words", {}),
        reasons=reasons,
        event=said.get("event") or LOOKED,
        on=said["version"],
    )


def _set_stations(by: Person, book: Book, said: Said) -> object:
    was = asdict(StationsDraft.of(book))
    draft = StationsDraft(**{name: said.get(name, old) for name, old in was.items()})
    return stations.set_stations(
        by=by,
        book=book,
        draft=draft,
        version=said["version"],
        event=said.get("event") or LOOKED,
    )


DO: dict[str, Callable[[Person, Book, Said], object]] = {
    "change_format": _change_format,
    "change_text": _change_text,
    "set_stations": _set_stations,
}
