"""Every address of the board and who gets in: the table that the door test walks.

A line says what the allowed are answered (`ok`), who they are (`may`), and for whom
the thing does not even exist (`blind`, 404). Everybody else credited on the book is
answered 403, a stranger 404, and who is not signed in is sent to sign in (pages, 302)
or told to (programs, 401).
"""

from collections.abc import Callable
from typing import Any

from board.permits import EVERYBODY, HOUSE, MAY, Act
from tests import make
from tests.house import signing, sources
from tests.house.door import (
    ONLY_ARTIST,
    SEE_HOUSE_NOTES,
    Body,
    Door,
    R,
    act,
    book,
    event,
    folder,
    format_body,
    issued,
    item,
    note_body,
    off,
    other,
    shown,
    slip,
    storyboard,
    unissued,
    upload,
    waiting,
)
from tests.house.sittings import TOGETHER
from tests.house.world import World

AT_ANYBODYS = [
    Door("accounts:sign-in", ok=302, anonymous=200, stranger=302),
    Door("accounts:sign-in", "POST", ok=302, anonymous=422, stranger=302, body=event()),
    Door("accounts:sent", anonymous=200, stranger=200),
    Door("accounts:come-in", of=lambda w: [w.way_in], anonymous=200, stranger=200),
    Door("accounts:come-in", "POST", lambda w: ["made-up"], 410, anonymous=410, stranger=410),
    Door("accounts:sign-out", "POST", ok=302, stranger=302),
    Door("accounts:me", stranger=200),
    Door("accounts:me", "POST", stranger=200),
    Door("books:new", may=frozenset(), stranger=403),
    Door("books:new", "POST", may=frozenset(), stranger=403),
    Door("books:invitation", of=lambda w: [w.invitation_token], anonymous=200, stranger=200),
    Door("books:invitation", "POST", lambda w: ["made-up"], 410, anonymous=410, stranger=410),
    Door("desk:desk", stranger=200),
    Door("outbox:waiting", stranger=200),
    Door("outbox:rights", anonymous=200, stranger=200),
    Door("outbox:no-line", anonymous=200, stranger=200),
    Door("outbox:worker", anonymous=200, stranger=200),
    Door("viewing:letters", stranger=200),
    Door("post:own", stranger=200),
    Door("post:own", "POST", stranger=200),
    Door("post:off", of=off, anonymous=200, stranger=200),
    Door("post:off", "POST", off, anonymous=200, stranger=200),
    Door("post:off", of=lambda w: ["made-up"], ok=404, anonymous=404),
    Door("post:calendar", of=lambda w: [w.feed], anonymous=200, stranger=200),
    Door("post:calendar", of=lambda w: ["made-up"], ok=404, anonymous=404),
]  # fmt: skip
KEEPERS = MAY[Act.CREDIT_PEOPLE]
BOOKS = [
    Door("books:book", of=book),
    Door("books:book", "POST", book, 422, MAY[Act.SET_UP_BOOK], body=event()),
    Door("books:people", of=book),
    Door("books:people", "POST", book, 422, KEEPERS, body=event()),
    Door("books:withdraw", "POST", lambda w: [w.invitation.key], 302, KEEPERS),
    Door("books:end-credit", of=lambda w: [w.credit.key], may=KEEPERS),
    Door("books:end-credit", "POST", lambda w: [w.credit.key], 302, KEEPERS),
    Door("checks:printing", of=book),
    Door("checks:printing", "POST", book, 422, MAY[Act.SET_PRESS], body=event()),
    Door("books:manuscript", of=book),
    Door("books:manuscript", "POST", book, 200, MAY[Act.EDIT_TEXT]),
    Door("books:boxes", of=item),
    Door("books:boxes", "POST", item, 422, MAY[Act.PLACE_BOXES], body=event()),
    Door("books:box", "POST", lambda w: [w.box.key], 302, MAY[Act.PLACE_BOXES]),
    Door("wall:wall", of=book),
    Door("wall:tracks", of=book),
    Door(
        "wall:tracks", "POST", book, 422, MAY[Act.SAY_WHAT_PICTURE_ADDS], body=event()
    ),
    Door("wall:colours", of=book),
    Door("wall:open-stage", "POST", book, 422, MAY[Act.OPEN_STAGE]),
    Door("books:deputies", of=book),
    Door("books:deputies", "POST", book, 422, MAY[Act.NAME_DEPUTY], body=event()),
    Door(
        "books:end-deputy",
        "POST",
        lambda w: [signing.deputy(w).key],
        302,
        frozenset({R.DESIGNER, R.EDITOR, R.PUBLISHER}),
        body=event(),
    ),
    Door("books:type", of=book),
    Door("books:type", "POST", book, 422, MAY[Act.SET_TYPE], body=event()),
    Door("viewing:format", of=book, may=MAY[Act.CHANGE_FORMAT]),
    Door("viewing:format", "POST", book, 422, MAY[Act.CHANGE_FORMAT], body=event()),
    Door("viewing:stations", of=book, may=MAY[Act.SET_STATIONS]),
    Door("viewing:stations", "POST", book, 422, MAY[Act.SET_STATIONS], body=event()),
    Door("viewing:words", of=book, may=MAY[Act.EDIT_TEXT]),
    Door("viewing:words", "POST", book, 422, MAY[Act.EDIT_TEXT], body=event()),
    Door("viewing:text", of=lambda w: [w.book.key, 1]),
    Door("viewing:ledger", of=book, may=MAY[Act.READ_LEDGER]),
    Door(
        "viewing:looked-again",
        "POST",
        lambda w: [signing.flag(w).key],
        302,
        MAY[Act.KEEP_CONTINUITY],
        body=event(),
    ),
    Door("api:book-moves", "POST", book, 200, MAY[Act.CHANGE_FORMAT], body=format_body),
]
PICTURES = [
    Door("revisions:send", of=book, may=ONLY_ARTIST),
    Door("revisions:send", "POST", book, 200, ONLY_ARTIST),
    Door("revisions:match", of=book, may=ONLY_ARTIST),
    Door("revisions:match", "POST", book, 200, ONLY_ARTIST),
    Door("revisions:end", "POST", upload, 302, ONLY_ARTIST, EVERYBODY - ONLY_ARTIST),
    Door("revisions:storyboards", of=book, may=ONLY_ARTIST),
    Door("revisions:storyboards", "POST", book, 422, ONLY_ARTIST),
    Door("revisions:storyboard", of=storyboard, may=ONLY_ARTIST, blind=EVERYBODY - ONLY_ARTIST),
    Door("revisions:storyboard", "POST", storyboard, 422, ONLY_ARTIST, EVERYBODY - ONLY_ARTIST),
    Door("revisions:sheet-progress", of=storyboard, may=ONLY_ARTIST, blind=EVERYBODY - ONLY_ARTIST),
    Door("revisions:sheet-away", "POST", storyboard, 302, ONLY_ARTIST, EVERYBODY - ONLY_ARTIST),
    Door("checks:revision", of=lambda w: [w.second.key]),
    Door("checks:revision", of=folder, may=ONLY_ARTIST),
    Door("revisions:folder", of=other, may=ONLY_ARTIST),
    Door("revisions:progress", of=folder, may=ONLY_ARTIST),
    Door("revisions:lay", of=folder, may=ONLY_ARTIST),
    Door("revisions:lay", "POST", folder, 200, ONLY_ARTIST),
    Door("revisions:put-away", "POST", folder, 302, ONLY_ARTIST, body=event()),
    Door("revisions:original", of=lambda w: [w.second.key], ok=302, may=MAY[Act.DOWNLOAD_ORIGINAL]),
]  # fmt: skip
NOT_SEEING = EVERYBODY - SEE_HOUSE_NOTES
ROOMS = [
    Door("viewing:item", of=item),
    Door("viewing:parts", of=item),
    Door("viewing:pictures", of=item),
    Door("viewing:light-table", of=item),
    Door("viewing:comparison", of=item, ok=302),
    Door("viewing:comparison", "POST", item, 302),
    Door("viewing:change", of=lambda w: [w.item.key, 1], may=ONLY_ARTIST),
    Door("viewing:change", "POST", lambda w: [w.item.key, 99], 422, ONLY_ARTIST, body=event(words="A gift.")),
    Door("viewing:letter", of=item, may=MAY[Act.READ_LETTER]),
    Door("viewing:letter-initial", "POST", item, 422, MAY[Act.READ_LETTER]),
    Door("viewing:letter-note", "POST", item, 422, MAY[Act.READ_LETTER], body=lambda w: {"revision": w.second.key}),
    Door("viewing:item-daybook", of=item),
    Door("viewing:item-daybook-pdf", of=item),
    Door("viewing:book-daybook-pdf", of=book),
    Door("viewing:book-daybook", of=book),
    Door("viewing:descriptions", of=book),
    Door("viewing:descriptions", "POST", book, 302, MAY[Act.EDIT_TEXT], body=lambda w: {"item": w.item.key, "version": 1, "words": "A boat at night.", **event()(w)}),
    Door("viewing:descriptions-csv", of=book),
    Door("viewing:descriptions-json", of=book),
    Door("viewing:picture-off", "POST", lambda w: [w.picture.key], 302, frozenset({R.ART_DIRECTOR}), NOT_SEEING, event()),
    Door("viewing:book-slip", of=book),
    Door("viewing:book-slip", "POST", book, 422, MAY[Act.INITIAL_BOOK], body=event(act="initial")),
    Door("viewing:book-slip", "POST", book, 409, MAY[Act.HAND_OVER], body=event(act="hand_over")),
    Door("viewing:book-slip", "POST", book, 422, MAY[Act.RECALL], body=event(act="recall")),
    Door("viewing:new-note", of=item, may=MAY[Act.RAISE_NOTE], query=shown),
    Door("viewing:new-note", "POST", item, 422, MAY[Act.RAISE_NOTE], query=shown),
    Door("viewing:note-act", of=act("reply"), blind=NOT_SEEING),
    Door("viewing:note-act", "POST", act("reply"), 302, blind=NOT_SEEING, body=event(words="Yes.")),
    Door("viewing:note-act", "POST", act("answer"), 302, ONLY_ARTIST, NOT_SEEING, event(answer="done")),
    Door("viewing:note-act", "POST", act("close"), 302, frozenset({R.ART_DIRECTOR}), NOT_SEEING, event()),
    Door("viewing:note-act", "POST", lambda w: [*waiting(w), "pass_on"], 302, MAY[Act.PASS_ON], HOUSE - {R.EDITOR} | ONLY_ARTIST, event()),
    Door("viewing:slip-act", of=slip("issue_sheet"), may=MAY[Act.ISSUE_SHEET]),
    Door("viewing:slip-act", "POST", slip("issue_sheet"), 409, MAY[Act.ISSUE_SHEET], body=event()),
    Door("viewing:slip-act", "POST", slip("hold"), 302, MAY[Act.HOLD] - {R.PUBLISHER}, body=event(words="Wait.")),
    Door("viewing:slip-act", "POST", slip("stand_by"), 409, ONLY_ARTIST, body=event()),
    Door("viewing:slip-act-on", of=slip("initial", "fit"), may=MAY[Act.INITIAL]),
    Door("viewing:slip-act-on", "POST", slip("waive_stage", "final"), 302, MAY[Act.WAIVE_STAGE], body=event(words="No need.")),
    Door("viewing:slip-act-on", "POST", slip("open_stage", "final"), 409, MAY[Act.OPEN_STAGE], body=event()),
]  # fmt: skip
MINE_ONLY = EVERYBODY - ONLY_ARTIST
HIDDEN_YET = EVERYBODY - HOUSE


def move(name: str, **more: Any) -> Callable[[World], Body]:
    return event(move=name, **more)


def pair(world: World) -> Body:
    keys = {"one": world.notes["unissued"].key, "other": world.notes["issued"].key}
    return {"event": make.event(), "ruling": "unrelated", **keys}


def compared(world: World) -> Body:
    return {"before": world.first.key, "after": world.second.key}


PROGRAMS = [
    Door("api:index", stranger=200),
    Door("api:schema", stranger=200),
    Door("api:nowhere", of=lambda w: ["made/up/"], ok=404, anonymous=404),
    Door("api:books", stranger=200),
    Door("api:book", of=book),
    Door("api:items", of=book),
    Door("api:item", of=item),
    Door("api:events", of=book),
    Door("api:deputies", of=book),
    Door("api:deputies", "POST", book, 422, MAY[Act.NAME_DEPUTY], body=event()),
    Door("api:end-deputy", "POST", lambda w: [signing.deputy(w).key], 200, frozenset({R.DESIGNER, R.EDITOR, R.PUBLISHER}), body=event()),
    Door("api:texts", of=book),
    Door("api:notes", of=item),
    Door("api:notes", "POST", item, 201, MAY[Act.RAISE_NOTE], body=note_body),
    Door("api:note", of=issued, blind=NOT_SEEING),
    Door("api:note", of=unissued, blind=HIDDEN_YET),
    Door("api:note", of=waiting, blind=EVERYBODY - {R.EDITOR, R.AUTHOR}),
    Door("api:note", "PATCH", unissued, 428, blind=HIDDEN_YET, body=event()),
    Door("api:replies", "POST", issued, 201, blind=NOT_SEEING, body=event(words="Yes.")),
    Door("api:note-acts", "POST", issued, 200, ONLY_ARTIST, NOT_SEEING, event(act="answer")),
    Door("api:note-acts", "POST", waiting, 200, MAY[Act.PASS_ON], HOUSE - {R.EDITOR} | ONLY_ARTIST, event(act="pass_on")),
    Door("api:note-picture", of=lambda w: [w.picture.key], blind=NOT_SEEING),
    Door("api:item", "PATCH", item, 428, MAY[Act.EDIT_TEXT], body=event(alt_text="A boat.")),
    Door("api:pairs", of=item, may=MAY[Act.RULE_PAIR]),
    Door("api:pairs", "POST", item, 201, MAY[Act.RULE_PAIR], body=pair),
    Door("api:note-sheets", of=item),
    Door("api:note-sheets", "POST", item, 409, MAY[Act.ISSUE_SHEET], body=event()),
    Door("api:note-sheet", of=lambda w: [w.sheet.key]),
    Door("api:initials", of=item),
    Door("api:initials", "POST", item, 422, MAY[Act.INITIAL]),
    Door("api:receipt", of=item, query=shown),
    Door("api:refusals", "POST", item, 422, MAY[Act.REFUSE]),
    Door("api:pull", "POST", lambda w: [w.given.key], 200, frozenset({R.RIGHTS}), body=event(reason="A doubt.")),
    Door("api:moves", "POST", item, 409, MAY[Act.OPEN_STAGE], body=move("open_stage", stage="final")),
    Door("api:moves", "POST", item, 200, MAY[Act.WAIVE_STAGE], body=move("waive_stage", stage="final", reason="No.")),
    Door("api:moves", "POST", item, 200, MAY[Act.HOLD] - {R.PUBLISHER}, body=move("hold", reason="Wait.")),
    Door("api:moves", "POST", item, 409, MAY[Act.REOPEN], body=move("ask_reopening", stage="sketch")),
    Door("api:moves", "POST", other, 200, ONLY_ARTIST, body=lambda w: {**move("send_up")(w), "revision": w.in_folder.key}),
    Door("api:uploads", of=lambda w: [], may=ONLY_ARTIST, query=lambda w: f"?book={w.book.key}"),
    Door("api:uploads", "POST", may=ONLY_ARTIST, ok=201, body=lambda w: {"book": w.book.key, "filename": "8-9.png", "length": 10}),
    Door("api:upload", of=upload, blind=MINE_ONLY),
    Door("api:upload", "PATCH", upload, 422, blind=MINE_ONLY),
    Door("api:upload", "DELETE", upload, 204, blind=MINE_ONLY),
    Door("api:revisions", of=item),
    Door("api:revision", of=lambda w: [w.second.key]),
    Door("api:revision", of=folder, may=ONLY_ARTIST),
    Door("api:comparisons", "POST", ok=202, body=compared),
    Door("api:comparison", of=lambda w: [w.comparison.key]),
]  # fmt: skip


def source(world: World) -> list[str]:
    return [sources.source(world).key]


def source_on(world: World) -> list[str]:
    return [*source(world), world.item.key]


def thing(world: World) -> list[str]:
    return [sources.thing(world).key]


def thing_on(world: World) -> list[str]:
    return [*thing(world), world.item.key]


READ_SOURCES, ENTER_SOURCE = MAY[Act.READ_SOURCES], MAY[Act.ENTER_SOURCE]
KEEP_CONTINUITY = MAY[Act.KEEP_CONTINUITY]
BEFORE_THE_PRESS = [
    Door("sources:list", of=book),
    Door("sources:new", of=book, may=ENTER_SOURCE),
    Door("sources:new", "POST", book, 422, ENTER_SOURCE, body=event()),
    Door("sources:credits", of=book, may=READ_SOURCES),
    Door("sources:log-csv", of=book, may=READ_SOURCES),
    Door("sources:log-pdf", of=book, may=READ_SOURCES),
    Door("sources:source", of=source, may=READ_SOURCES),
    Door("sources:record", of=source, may=ENTER_SOURCE),
    Door("sources:record", "POST", source, 422, ENTER_SOURCE, body=event()),
    Door("sources:photographs", "POST", source, 422, ENTER_SOURCE, body=event()),
    Door("sources:documents", "POST", source, 422, MAY[Act.JUDGE_SOURCE], body=event()),
    Door("sources:contacts", "POST", source, 422, ENTER_SOURCE, body=event()),
    Door("sources:mark", of=source_on, may=ENTER_SOURCE),
    Door("judging:clearance", "POST", source, 302, MAY[Act.JUDGE_SOURCE], body=event(clearance="asked")),
    Door("judging:use", "POST", source_on, 302, ENTER_SOURCE, body=event()),
    Door("judging:use-off", "POST", lambda w: [sources.use(w).key], 302, ENTER_SOURCE, body=event()),
    Door("judging:offer", "POST", lambda w: [sources.offer(w).key], 302, ENTER_SOURCE, body=event(answer="accept")),
    Door("continuity:sheet", of=book),
    Door("continuity:sheet", "POST", book, 302, KEEP_CONTINUITY, body=event(name="strap")),
    Door("continuity:thing", of=thing),
    Door("continuity:thing", "POST", thing, 302, KEEP_CONTINUITY, body=event()),
    Door("continuity:place", of=thing_on, may=KEEP_CONTINUITY),
    Door("continuity:place", "POST", thing_on, 422, KEEP_CONTINUITY, body=event()),
    Door("readings:list", of=book),
    Door("readings:begin", "POST", book, 200, MAY[Act.READ_THROUGH]),
    Door("readings:end", "POST", book, 422, MAY[Act.READ_THROUGH], body=event(word="made up")),
    Door("api:checks", of=lambda w: [w.second.key]),
    Door("api:printing", of=book),
    Door("api:printing", "PUT", book, 422, MAY[Act.SET_PRESS], body=event()),
    Door("api:clippings", of=book, may=READ_SOURCES),
    Door("api:clippings", "POST", book, 422, ENTER_SOURCE, body=event()),
    Door("api:offers", of=book, may=ENTER_SOURCE),
    Door("api:clipping", of=source, may=READ_SOURCES),
    Door("api:clipping", "PATCH", source, 428, ENTER_SOURCE, body=event(remark="Seen.")),
    Door("api:contacts", of=source, may=READ_SOURCES),
    Door("api:contacts", "POST", source, 422, ENTER_SOURCE, body=event()),
    Door("api:clearance", "POST", source, 200, MAY[Act.JUDGE_SOURCE], body=event(clearance="asked")),
    Door("api:uses", of=source, may=READ_SOURCES),
    Door("api:uses", "POST", source, 422, ENTER_SOURCE, body=event()),
    Door("api:use-off", "POST", lambda w: [sources.use(w).key], 200, ENTER_SOURCE, body=event()),
    Door("api:offer", "POST", lambda w: [sources.offer(w).key], 200, ENTER_SOURCE, body=event(accepted=True)),
    Door("api:things", of=book),
    Door("api:things", "POST", book, 201, KEEP_CONTINUITY, body=event(name="strap")),
    Door("api:thing", of=thing),
    Door("api:thing", "PATCH", thing, 422, KEEP_CONTINUITY, body=event()),
    Door("api:thing-places", of=thing),
    Door("api:thing-places", "POST", thing, 422, KEEP_CONTINUITY, body=event()),
    Door("api:readings", of=book),
    Door("api:readings", "POST", book, 422, MAY[Act.READ_THROUGH], body=event()),
    Door("api:reading-begin", "POST", book, 201, MAY[Act.READ_THROUGH]),
]  # fmt: skip
ON_PAPER = [
    Door("paper:item", of=item),
    Door("paper:item-lines", of=item),
    Door("paper:tracing", of=item, query=lambda w: "?paper=a4&colour=black"),
    Door("paper:note-sheet", of=lambda w: [w.sheet.key]),
    Door("paper:book-lines", of=book),
    Door("paper:book", of=book),
    Door("paper:dummy", of=book, query=lambda w: "?paper=a4&stage=newest"),
]
DOORS: list[Door] = [
    *AT_ANYBODYS,
    *BOOKS,
    *PICTURES,
    *ROOMS,
    *BEFORE_THE_PRESS,
    *ON_PAPER,
    *TOGETHER,
    *PROGRAMS,
]
SOCKETS = {"live/<str:key>/", "live/<str:key>/sittings/<str:sitting>/"}
SIGNED = {"/t/", "/o/", "/u/"}
