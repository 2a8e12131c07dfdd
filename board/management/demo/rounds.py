"""Rounds of notes, answers, rulings and initials, as the calendar has them."""

from accounts.models import Person
from board.books.models import Item
from board.books.queries import credits_of
from board.books.rules import Stage
from board.errors import WrongMove
from board.management.demo.story import Facts, Story
from board.revisions.models import Revision
from board.slips.actions import (
    books,
    holds,
    initials,
    notes,
    rulings,
    sheets,
    short,
)
from board.slips.queries.book import book_standing
from board.slips.queries.lines import holds_on
from board.slips.queries.receipts import receipt_for
from board.slips.queries.slates import slate_of
from board.slips.rules.book import STATIONS
from board.tissue.models import Note
from board.tissue.rules import NoteDraft

FACETS = {
    "LA": "fit",
    "DC": "story",
    "GS": "press",
    "HN": "art",
    "MOF": "words",
    "PH": "clearance",
}
STAGES = {"th": "thumbnails", "sk": "sketch", "wa": "washes", "fa": "final"}
ANSWERS = {"done": "done", "not done": "not done because", "answered": "done"}


class NotAsTold(Exception):
    """The replay did something the calendar does not expect."""


def revision_named(item: Item, name: str) -> Revision:
    """The sent-up revision that the story calls sk1, fa2 and so on."""
    sent = item.revisions.filter(stage=STAGES[name[:2]], number=int(name[2:]))
    return sent.get()


def raise_notes(story: Story, event: Facts) -> None:
    for no in event["notes"]:
        told = story.notes[no]
        x, y, width, height = told["region"]
        draft = NoteDraft(
            sort=told["class"],
            words=told["words"],
            mark="box",
            points=[[x, y], [x + width, y + height]],
            facet=told["facet"],
        )
        on = revision_named(story.items[told["item"]], told["on"])
        sent, by = story.event(), story.people[told["by"]]
        for _ in range(2 if told.get("sent_twice") else 1):
            story.raised[no] = notes.raise_note(by=by, on=on, draft=draft, event=sent)


def author_notes(story: Story, event: Facts) -> None:
    by = story.people[event["by"]]
    for no in event.get("passed", []):
        words = _step(story, no, "pass on").get("words", "")
        notes.pass_on(by=by, note=story.note(no), words=words, event=story.event())
    for no in event.get("declined", []):
        reason = _step(story, no, "decline").get("words", "")
        reason = reason or _step(story, no, "decline").get("reason", "")
        notes.decline(by=by, note=story.note(no), reason=reason, event=story.event())


def _step(story: Story, no: str, act: str, day: int | None = None) -> Facts:
    for step in story.notes[no]["steps"]:
        if step["act"] == act and day in {None, step["day"]}:
            return dict(step)
    return {}


def rule_pairs(story: Story, event: Facts) -> None:
    for one, other, ruling in event["pairs"]:
        rulings.rule_pair(
            by=story.people[event["by"]],
            one=story.note(one),
            other=story.note(other),
            ruling=ruling,
            event=story.event(),
        )


def merge(story: Story, event: Facts) -> None:
    note = story.note(event["note"])
    if note.state == Note.State.MERGED:  # "same thing" merged it already
        return
    rulings.merge(
        by=story.people[event["by"]],
        note=note,
        into=story.note(event["into"]),
        event=story.event(),
    )


def note_sheet(story: Story, event: Facts) -> None:
    for item in story.items_of(event):
        sheets.issue_sheet(by=story.people[event["by"]], item=item, event=story.event())


def answers(story: Story, event: Facts) -> None:
    """Answer each line that the artist answers on this day."""
    for no, note in list(story.raised.items()):
        step = _step(story, no, "answer", event["day"])
        if step.get("by") != event["by"]:
            continue
        notes.answer(
            by=story.people[event["by"]],
            note=note,
            answer=ANSWERS[step["answer"]],
            words=step.get("words", ""),
            event=story.event(),
        )


def close_answered(story: Story, event: Facts) -> None:
    """Close what is done, put back what is not, as each note's own steps say."""
    for no in list(story.raised):
        for step in story.notes[no]["steps"]:
            if step["day"] != event["day"]:
                continue
            by = story.people.get(step["by"])
            if step["act"] == "close" and by:
                rulings.close(by=by, note=story.note(no), event=story.event())
            if step["act"] == "not done" and by:
                rulings.put_back(
                    by=by,
                    note=story.note(no),
                    reason=step["words"],
                    event=story.event(),
                )


def close_named(story: Story, event: Facts) -> None:
    for no in event["notes"]:
        rulings.close(
            by=story.people[event["by"]], note=story.note(no), event=story.event()
        )


def answer_and_close(story: Story, event: Facts) -> None:
    no = event["note"]
    said, shut = _step(story, no, "answer"), _step(story, no, "close")
    notes.answer_query(
        by=story.people[said["by"]],
        note=story.note(no),
        words=said["words"],
        event=story.event(),
    )
    rulings.close(by=story.people[shut["by"]], note=story.note(no), event=story.event())


def initial(story: Story, event: Facts) -> None:
    for who in event["by"]:
        by = story.people[who]
        for item in story.items_of(event):
            receipt = _receipt(by, item, event["stage"])
            sent = story.event()
            for _ in range(2 if event.get("sent_twice") else 1):
                initials.initial(
                    by=by, item=item, facet=FACETS[who], receipt=receipt, event=sent
                )


def _receipt(by: Person, item: Item, stage: str) -> str:
    shown = item.revisions.filter(stage=stage, number__isnull=False)
    return receipt_for(by, item, shown.order_by("-number")[0])


def initial_as_corrected(story: Story, event: Facts) -> None:
    by = story.people[event["by"]]
    for item in story.items_of(event):
        initials.initial(
            by=by,
            item=item,
            facet=FACETS[event["by"]],
            receipt=_receipt(by, item, event["stage"]),
            event=story.event(),
            listed=[story.raised[no].key for no in event["lines"]],
            checks=_stops(item) if event.get("check_at_stop") else (),
        )


def _stops(item: Item) -> tuple[str, ...]:
    slate = slate_of(item)
    return slate.stops if slate else ()


def late_initial(story: Story, event: Facts) -> None:
    """An initial given offline arrives too late: it must not be applied."""
    by, item = story.people[event["by"]], story.items[event["item"]]
    try:
        initials.initial(
            by=by,
            item=item,
            facet=FACETS[event["by"]],
            receipt=receipt_for(by, item, revision_named(item, event["rev"])),
            event=story.event(),
        )
    except WrongMove:
        return
    raise NotAsTold(f"{by.initials}'s late initial was applied.")


def refuse(story: Story, event: Facts) -> None:
    by = story.people[event["by"]]
    for item in story.items_of(event):
        initials.refuse(
            by=by,
            item=item,
            facet=FACETS[event["by"]],
            note=story.note(event["lines"][0]),
            reason="",
            event=story.event(),
        )


def stet(story: Story, event: Facts) -> None:
    rulings.stet(
        by=story.people[event["by"]],
        note=story.note(event["note"]),
        ruling=_step(story, event["note"], "stet").get("words", "It stands."),
        event=story.event(),
    )


def hold(story: Story, event: Facts) -> None:
    for item in story.items_of(event):
        holds.hold(
            by=story.people[event["by"]],
            item=item,
            reason=event["reason"],
            event=story.event(),
        )


def release(story: Story, event: Facts) -> None:
    for item in story.items_of(event):
        for held in holds_on(item):
            holds.release(by=story.people[event["by"]], held=held, event=story.event())


def withdraw(story: Story, event: Facts) -> None:
    notes.withdraw(
        by=story.people[event["by"]],
        note=story.note(event["note"]),
        event=story.event(),
    )


def short_slip(story: Story, event: Facts) -> None:
    for item in story.items_of(event):
        short.short_slip(by=story.people[event["by"]], item=item, event=story.event())


def book_slip(story: Story, event: Facts) -> None:
    book = story.the_book()
    for who in event["by"]:
        by = story.people[who]
        role = next(role for role in STATIONS if role in credits_of(by, book))
        shown = book_standing(book, Stage.FINAL, by)
        books.initial_book(
            by=by,
            book=book,
            stage=Stage.FINAL,
            list_hash=shown.list_hash,
            role=role.value,
            event=story.event(),
        )
