"""What is sent when something is asked of the board."""

from typing import Any

from rest_framework import serializers

from board.books.rules import STAGES
from board.permits import Facet, Role
from board.slips.models import Initial, Reopening
from board.tissue.models import Note, PairRuling
from board.tissue.rules import CLASSES, LONGEST_WORDS, MOST_POINTS

STAGE_NAMES = [stage.value for stage in STAGES]
FACETS = [facet.value for facet in Facet]
ROLES = [role.value for role in Role]
INITIAL_KINDS = Initial.Kind.values
MARKS = ["", "point", "box", "loop", "polygon"]
LONGEST_REASON = 1000
NOTE_ACTS = (
    "answer",
    "answer_query",
    "close",
    "put_back",
    "stet",
    "merge",
    "withdraw",
    "pass_on",
    "decline",
)
MOVES = (
    "open_stage",
    "waive_stage",
    "send_up",
    "stand_by",
    "hold",
    "release",
    "ask_reopening",
    "agree_reopening",
)


class KeySentField(serializers.RegexField):
    """A key that was read from the board."""

    def __init__(self, **more: Any) -> None:
        super().__init__("^[A-Za-z0-9_-]{1,16}$", **more)


class EventSerializer(serializers.Serializer[Any]):
    """Every write names its event; a resend does nothing and answers the same."""

    event = serializers.RegexField(
        r"^[A-Za-z0-9_.:-]{8,40}$",
        help_text="Made by the client, 8 to 40 characters, new for each act.",
    )


class PointField(serializers.ListField):
    """x and y in fractions of the trimmed sheet."""

    def __init__(self, **more: Any) -> None:
        inside = serializers.FloatField(min_value=-10, max_value=10)
        super().__init__(child=inside, min_length=2, max_length=2, **more)


class NoteDraftSerializer(EventSerializer):
    """A note to be pinned to a place on the sheet."""

    revision = KeySentField(help_text="A revision of the item that was sent up.")
    sort = serializers.ChoiceField(CLASSES)
    words = serializers.CharField(max_length=LONGEST_WORDS)
    mark = serializers.ChoiceField(MARKS, default="")
    points = serializers.ListField(
        child=PointField(), max_length=MOST_POINTS, default=list
    )
    facet = serializers.ChoiceField(FACETS, required=False, help_text="Else one's own.")
    role = serializers.ChoiceField(ROLES, required=False, help_text="Else one's own.")


class NoteChangeSerializer(EventSerializer):
    """What changes in one's own note; what is left out stays."""

    sort = serializers.ChoiceField(CLASSES, required=False)
    words = serializers.CharField(max_length=LONGEST_WORDS, required=False)
    mark = serializers.ChoiceField(MARKS, required=False)
    points = serializers.ListField(
        child=PointField(), max_length=MOST_POINTS, required=False
    )


class ReplyDraftSerializer(EventSerializer):
    words = serializers.CharField(max_length=LONGEST_WORDS)


class NoteActSerializer(EventSerializer):
    """An act on a note; which of the other members it needs follows from `act`."""

    act = serializers.ChoiceField(NOTE_ACTS)
    words = serializers.CharField(
        max_length=LONGEST_WORDS,
        allow_blank=True,
        default="",
        help_text="The answer, reason, ruling, or the editor's words for the artist.",
    )
    answer = serializers.ChoiceField(
        [answer for answer in Note.Answer.values if answer],
        default="done",
        help_text="For `answer` only.",
    )
    into = KeySentField(required=False, help_text="For `merge`: the note that stays.")


class PairDraftSerializer(EventSerializer):
    """A ruling on two directions on one place; `same` merges `one` into `other`."""

    one = KeySentField()
    other = KeySentField()
    ruling = serializers.ChoiceField(PairRuling.Ruling.values)


class InitialDraftSerializer(EventSerializer):
    """An OK; with listed lines or checks, an OK as corrected."""

    facet = serializers.ChoiceField(FACETS)
    receipt = serializers.CharField(max_length=600)
    listed = serializers.ListField(child=KeySentField(), max_length=20, default=list)
    checks = serializers.ListField(
        child=serializers.CharField(max_length=300),
        max_length=20,
        default=list,
        help_text="Checks at stop, in the slip's own words; production alone lists them.",
    )


class PullSerializer(EventSerializer):
    reason = serializers.CharField(max_length=LONGEST_REASON)


class RefusalDraftSerializer(EventSerializer):
    """A no at a must line, over an open direction of one's own."""

    facet = serializers.ChoiceField(FACETS)
    note = KeySentField()
    reason = serializers.CharField(
        max_length=LONGEST_REASON, allow_blank=True, default=""
    )


class MoveSerializer(EventSerializer):
    """A move of the item; which of the other members it needs follows from `move`."""

    move = serializers.ChoiceField(MOVES)
    stage = serializers.ChoiceField(
        STAGE_NAMES, required=False, help_text="open_stage, waive_stage, ask_reopening."
    )
    due = serializers.DateField(required=False, help_text="open_stage.")
    reason = serializers.CharField(
        max_length=LONGEST_REASON,
        allow_blank=True,
        default="",
        help_text="waive_stage, hold, ask_reopening.",
    )
    revision = KeySentField(required=False, help_text="send_up.")
    role = serializers.ChoiceField(
        ROLES, required=False, help_text="hold, for those with several credits."
    )
    hold = KeySentField(required=False, help_text="release.")
    code = serializers.ChoiceField(
        Reopening.Code.choices, required=False, help_text="ask_reopening."
    )
    payer = serializers.CharField(
        max_length=120, allow_blank=True, default="", help_text="ask_reopening."
    )
    reopening = KeySentField(required=False, help_text="agree_reopening.")
