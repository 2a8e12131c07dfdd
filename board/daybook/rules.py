"""What the record's chain is made of. Plain values."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from enum import StrEnum

START = "0" * 64
CHAINED = (
    "book_key",
    "number",
    "kind",
    "at",
    "by_key",
    "role",
    "item_key",
    "stage",
    "about_key",
    "checksum",
    "text_version",
    "details",
    "event",
    "chained_to",
)


class Happened(StrEnum):
    """Every kind of thing the record holds."""

    BOOK_MADE = "book made"
    BOOK_CHANGED = "book changed"
    CREDIT_GIVEN = "credit given"
    CREDIT_ENDED = "credit ended"
    INVITED = "invited"
    INVITATION_WITHDRAWN = "invitation withdrawn"
    BOXES_PLACED = "boxes placed"
    TEXT_MADE = "text version made"
    DESCRIBED = "picture described"
    PICTURE_ADDS = "what the picture adds"
    STAGE_OPENED = "stage opened"
    STAGE_WAIVED = "stage waived"
    UPLOADED = "uploaded"
    PUT_AWAY = "put away"
    LAID = "laid"
    SENT_UP = "sent up"
    STOOD_BY = "stood by"
    NOTE_RAISED = "note raised"
    NOTE_EDITED = "note edited"
    NOTE_WITHDRAWN = "note withdrawn"
    REPLIED = "replied"
    PICTURE_ADDED = "reference picture added"
    PICTURE_TAKEN_OFF = "reference picture taken off"
    PASSED_ON = "passed on"
    DECLINED = "declined"
    ANSWERED = "answered"
    CLOSED = "closed"
    OPENED_AGAIN = "opened again"
    STET = "stet"
    MERGED = "merged"
    PAIR_RULED = "pair ruled"
    SHEET_ISSUED = "note sheet issued"
    INITIALLED = "initialled"
    INITIAL_CARRIED = "initial carried"
    INITIAL_LAPSED = "initial lapsed"
    INITIAL_PULLED = "initial pulled"
    REFUSED = "refused"
    HELD = "held"
    RELEASED = "released"
    STANDING_MOVED = "standing moved"
    REOPENING_ASKED = "reopening asked"
    REOPENED = "reopened"
    NOT_APPLIED = "arrived too late"
    MOVED_ON = "moved on"
    CHANGE_NAMED = "change named"
    SOURCE_ENTERED = "source entered"
    SOURCE_CHANGED = "source's record changed"
    SOURCE_PHOTOGRAPHED = "photograph of a source kept"
    CONTACT_LOGGED = "contact about a source logged"
    CLEARANCE_CHANGED = "clearance of a source changed"
    SOURCE_MARKED = "source marked"
    SOURCE_PLANNED = "source marked in the folder"
    SOURCE_TAKEN_OFF = "source taken off"
    THING_ENTERED = "thing entered"
    VALUE_ENTERED = "value entered"
    PLACE_MARKED = "place marked"
    READING_HELD = "reading held"
    SITTING_PLANNED = "sitting planned"
    SITTING_CHANGED = "sitting planned anew"
    SITTING_CALLED_OFF = "sitting called off"
    SITTING_OPENED = "sitting opened"
    CHAIR_HANDED = "chair handed over"
    DECIDED = "decided in a sitting"
    SITTING_CLOSED = "sitting closed"
    SHORT_SLIP = "short slip called"
    BOOK_SLIP_OPENED = "book slip opened"
    BOOK_INITIALLED = "book slip initialled"
    BOOK_SLIP_LAPSED = "book slip lapsed"
    PASSED_FOR_PRESS = "passed for press"
    HANDED_OVER = "handed over"
    RECALLED = "recalled"
    FORMAT_CHANGED = "format changed"
    STATIONS_CHANGED = "stations changed"
    DEPUTY_NAMED = "deputy named"
    DEPUTY_ENDED = "deputy ended"
    TYPE_SET = "type set"
    LATE_RULED = "late note ruled"
    LOOK_AGAIN = "look again"
    LOOKED_AGAIN = "looked again"


def link(fields: Mapping[str, object]) -> str:
    """The hash of one entry and of all before it (SHA-256 over canonical JSON)."""
    told = json.dumps(
        {name: fields[name] for name in CHAINED},
        sort_keys=True,
        ensure_ascii=False,
        separators=(",", ":"),
        default=str,
    )
    return hashlib.sha256(told.encode()).hexdigest()


def first_break(entries: Iterable[Mapping[str, object]]) -> int | None:
    """The number of the first entry that does not fit the chain, or None."""
    before = START
    for number, entry in enumerate(entries, start=1):
        fits = (
            entry["number"] == number
            and entry["chained_to"] == before
            and link(entry) == entry["chain"]
        )
        if not fits:
            return number
        before = str(entry["chain"])
    return None
