"""Notes on the tissue: read, raise, change, answer, rule."""

import json
from collections.abc import Callable
from hashlib import sha256
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.utils.http import parse_etags
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse
from rest_framework.views import APIView

from accounts.models import Person
from board.books.models import Item
from board.books.queries import item_for, roles_for, roles_of
from board.daybook.queries import happened_already
from board.errors import NotFound, NotUnderstood, Stale
from board.permits import Act, Role
from board.problems import PreconditionNeeded, problems, write_problems
from board.programs import KEY, person_of, read
from board.revisions.models import Revision
from board.revisions.queries import revision_for
from board.revisions.queries.named import revision_of
from board.slips.actions import notes, rulings
from board.slips.actions.locked import event_of
from board.slips.api.asking import (
    FACETS,
    STAGE_NAMES,
    NoteActSerializer,
    NoteChangeSerializer,
    NoteDraftSerializer,
    ReplyDraftSerializer,
)
from board.slips.api.pictures import NotePictureSerializer
from board.slips.queries.notes import note_acts
from board.tissue.models import Note, Reply
from board.tissue.queries import NoteSeen, note_for, notes_for, seen_as, sees
from board.tissue.rules import CLASSES, NoteDraft

IF_MATCH = OpenApiParameter(
    "If-Match",
    str,
    OpenApiParameter.HEADER,
    description="The ETag that the note was read with; without it the answer is 428.",
)
ETAG = OpenApiParameter(
    "ETag", str, OpenApiParameter.HEADER, response=[200], description="For If-Match."
)


class WriterSerializer(serializers.Serializer[Any]):
    initials = serializers.CharField()
    name = serializers.CharField()


class ReplySerializer(serializers.Serializer[Any]):
    key = serializers.CharField()
    by = WriterSerializer()
    words = serializers.CharField()
    at = serializers.DateTimeField()


class NoteSerializer(serializers.Serializer[Any]):
    """A note as its reader sees it; `acts` are what the reader may do on it now."""

    key = serializers.CharField()
    item = serializers.CharField()
    stage = serializers.ChoiceField(STAGE_NAMES)
    revision = serializers.CharField(help_text="On which it was made.")
    superseded = serializers.BooleanField(help_text="Whether a newer one is up.")
    label = serializers.CharField(  # type: ignore[assignment]  # the member's name
        help_text="Line and initials; initials until issued."
    )
    sort = serializers.ChoiceField(CLASSES)
    facet = serializers.ChoiceField(FACETS)
    words = serializers.CharField()
    passed_words = serializers.CharField(allow_blank=True)
    mark = serializers.ChoiceField(["", "point", "box", "loop", "polygon"])
    points = serializers.ListField(
        child=serializers.ListField(child=serializers.FloatField())
    )
    place_unknown = serializers.BooleanField()
    state = serializers.ChoiceField(Note.State.values)
    is_open = serializers.BooleanField()
    mine = serializers.BooleanField()
    by = WriterSerializer()
    raised_at = serializers.DateTimeField()
    edited_at = serializers.DateTimeField(allow_null=True)
    issued_at = serializers.DateTimeField(allow_null=True)
    answer = serializers.ChoiceField(Note.Answer.choices, allow_blank=True)
    answer_words = serializers.CharField(allow_blank=True)
    answered_by = serializers.CharField(allow_blank=True)
    ended_at = serializers.DateTimeField(allow_null=True)
    ended_by = serializers.CharField(allow_blank=True)
    ruling = serializers.CharField(allow_blank=True)
    merged_into = serializers.CharField(allow_blank=True)
    replies = ReplySerializer(many=True)
    pictures = NotePictureSerializer(many=True)
    acts = serializers.ListField(child=serializers.CharField())


AS_THEY_ARE = (
    "key", "stage", "sort", "facet", "mark", "points", "place_unknown", "state",
    "raised_at", "edited_at", "issued_at", "answer", "answer_words", "ended_at",
    "ruling",
)  # fmt: skip


def told_notes(person: Person, item: Item) -> list[dict[str, Any]]:
    """Every note of the item that exists for this reader, in reading order."""
    roles = roles_of(person, item.book)
    seen = notes_for(person, item, roles=roles)
    acts = note_acts(person, item, seen, roles=roles)
    return [_told(one, person, roles, acts[one.note.key]) for one in seen]


def _told(
    one: NoteSeen, person: Person, roles: frozenset[Role], acts: tuple[str, ...]
) -> dict[str, Any]:
    note, into = one.note, one.note.merged_into
    knows = into is not None and sees(into, person, note.item.book, roles)
    return {name: getattr(note, name) for name in AS_THEY_ARE} | {
        "item": note.item.key,
        "revision": note.made_on.key,
        "superseded": one.superseded,
        "label": one.label,
        "words": one.words,
        "passed_words": "" if one.words == note.passed_words else note.passed_words,
        "is_open": one.is_open,
        "mine": note.by_id == person.pk,
        "by": {"initials": one.by_initials, "name": one.by_name},
        "answered_by": note.answered_by.initials if note.answered_by else "",
        "ended_by": note.ended_by.initials if note.ended_by else "",
        "merged_into": into.key if into is not None and knows else "",
        "replies": [_told_reply(reply) for reply in one.replies],
        "pictures": [dict(NotePictureSerializer(each).data) for each in one.pictures],
        "acts": acts,
    }


def _told_reply(reply: Reply) -> dict[str, Any]:
    by = {"initials": reply.by.initials, "name": reply.by.name}
    return {"key": reply.key, "by": by, "words": reply.words, "at": reply.at}


def told_note(person: Person, note: Note) -> dict[str, Any]:
    """One note as this reader sees it now; 404 when it is not there for them."""
    item = note.item
    roles = roles_for(person, item.book)
    seen = seen_as(person, note, roles=roles)
    acts = note_acts(person, item, [seen], roles=roles)
    return dict(NoteSerializer(_told(seen, person, roles, acts[note.key])).data)


def etag_of(told: dict[str, Any]) -> str:
    """A strong validator: other words, acts or replies make another tag."""
    body = json.dumps(told, sort_keys=True, cls=DjangoJSONEncoder)
    return f'"{sha256(body.encode()).hexdigest()[:20]}"'


def _answer(person: Person, note: Note, status: int = 200) -> Response:
    told = told_note(person, note)
    return Response(told, status=status, headers={"ETag": etag_of(told)})


def require_match(request: Request, told: dict[str, Any]) -> None:
    """428 without If-Match, 412 when the note is not the one that was read."""
    wanted = request.headers.get("If-Match")
    if not wanted:
        raise PreconditionNeeded
    named = parse_etags(wanted)
    if named != ["*"] and etag_of(told) not in named:
        raise Stale


@extend_schema(parameters=[KEY])
class Notes(APIView):
    """The notes of an item."""

    @extend_schema(
        operation_id="notes_list",
        responses={200: NoteSerializer(many=True), **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Keeps first, then as one reads the sheet; only those that you may see."""
        person = person_of(request)
        told = told_notes(person, item_for(person, key))
        return Response(NoteSerializer(told, many=True).data)

    @extend_schema(
        operation_id="note_raise",
        request=NoteDraftSerializer,
        responses={201: NoteSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Pin a note to a place; your own initial there is taken off."""
        person = person_of(request)
        item = item_for(person, key, Act.RAISE_NOTE)
        said = read(NoteDraftSerializer, request)
        revision = _named_revision(person, item, said["revision"])
        names = ("sort", "words", "mark", "points", "facet", "role")
        draft = NoteDraft(**{name: said[name] for name in names if name in said})
        note = notes.raise_note(
            by=person, on=revision, draft=draft, event=said["event"]
        )
        answer = _answer(person, note, 201)
        answer["Location"] = reverse("api:note", args=[note.key], request=request)
        return answer


@extend_schema(parameters=[KEY])
class OneNote(APIView):
    """One note."""

    @extend_schema(
        operation_id="note_read",
        parameters=[ETAG],
        responses={200: NoteSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """The note with its answers, replies and what you may do."""
        person = person_of(request)
        return _answer(person, note_for(person, key))

    @extend_schema(
        operation_id="note_change",
        parameters=[IF_MATCH, ETAG],
        request=NoteChangeSerializer,
        responses={200: NoteSerializer, **write_problems(412, 428)},
    )
    def patch(self, request: Request, key: str) -> Response:
        """Change your own note, as long as nobody was sent it."""
        person = person_of(request)
        note = note_for(person, key)
        said = read(NoteChangeSerializer, request)
        sent = event_of(person, said["event"])
        if not happened_already(note.item.book.key, sent):
            require_match(request, told_note(person, note))
        names = ("sort", "words", "mark", "points")
        draft = NoteDraft(
            **{name: said.get(name, getattr(note, name)) for name in names}
        )
        notes.edit_note(
            by=person,
            note=note,
            draft=draft,
            version=note.version,
            event=said["event"],
        )
        return _answer(person, note)


@extend_schema(parameters=[KEY])
class Replies(APIView):
    """Words under a note."""

    @extend_schema(
        operation_id="note_reply",
        request=ReplyDraftSerializer,
        responses={201: ReplySerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Write a word under a note that you may see."""
        person = person_of(request)
        note = note_for(person, key)
        said = read(ReplyDraftSerializer, request)
        made = notes.reply(by=person, note=note, **said)
        return Response(ReplySerializer(_told_reply(made)).data, status=201)


@extend_schema(parameters=[KEY])
class NoteActs(APIView):
    """What may be done on a note."""

    @extend_schema(
        operation_id="note_act",
        parameters=[ETAG],
        request=NoteActSerializer,
        responses={200: NoteSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Answer, close, put back, let stand, merge, withdraw, pass on or decline."""
        person = person_of(request)
        note = note_for(person, key)
        said = read(NoteActSerializer, request)
        DO[said["act"]](person, note, said)
        return _answer(person, note)


def _named_revision(person: Person, item: Item, key: str) -> Revision:
    """The item's revision; 404 for what this person may not know of at all."""
    try:
        return revision_of(person, item, key)
    except NotFound:
        revision_for(person, key)
        raise NotUnderstood("That revision belongs to another item.") from None


Doing = Callable[[Person, Note, dict[str, Any]], object]


def _named(action: Callable[..., object], words_as: str) -> Doing:
    """An action that takes the words under its own name, or none at all."""

    def do(by: Person, note: Note, said: dict[str, Any]) -> object:
        more = {words_as: said["words"]} if words_as else {}
        return action(by=by, note=note, event=said["event"], **more)

    return do


def _answer_line(by: Person, note: Note, said: dict[str, Any]) -> object:
    told = {name: said[name] for name in ("answer", "words", "event")}
    return notes.answer(by=by, note=note, **told)


def _merge(by: Person, note: Note, said: dict[str, Any]) -> object:
    if "into" not in said:
        raise NotUnderstood("Say which note stays: `into` is missing.")
    into = note_for(by, said["into"])
    return rulings.merge(by=by, note=note, into=into, event=said["event"])


DO: dict[str, Doing] = {
    "answer": _answer_line,
    "answer_query": _named(notes.answer_query, "words"),
    "close": _named(rulings.close, ""),
    "put_back": _named(rulings.put_back, "reason"),
    "stet": _named(rulings.stet, "ruling"),
    "merge": _merge,
    "withdraw": _named(notes.withdraw, "reason"),
    "pass_on": _named(notes.pass_on, "words"),
    "decline": _named(notes.decline, "reason"),
}
