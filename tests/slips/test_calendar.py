"""The demo book's calendar, replayed through the actions: standings hold by the day."""

import json
from collections.abc import Callable
from pathlib import Path

from board.books.models import Item
from board.daybook.models import Entry
from board.daybook.queries import broken_at
from board.management.demo.replay import Replay
from board.management.demo.story import Facts, Story
from board.slips.actions import stages
from board.slips.models import Initial
from board.slips.queries.slates import slate_of, stage_of
from board.tissue.models import Note
from board.tissue.queries import notes_for, sheets_for
from tests import make

STANDINGS = json.loads(
    (Path(__file__).parents[2] / "fixtures" / "standings.json").read_text("utf-8")
)


class Unpainted(Replay):
    """The replay with revisions that were never painted: moves only, in seconds."""

    def _wanted(self) -> list[tuple[str, str]]:
        return []

    def _send_up(self, story: Story, event: Facts) -> None:
        by = story.people[event["by"]]
        stage = {"th": "thumbnails", "sk": "sketch", "wa": "washes", "fa": "final"}
        for item in story.items_of(event):
            new = make.revision(of=item, by=by, stage=stage[event["rev"][:2]])  # type: ignore[arg-type]  # a Stage's own word
            stages.send_up(by=by, revision=new, event=story.event())


def test_the_calendar_holds_day_by_day(db: None) -> None:
    checks: dict[str, Callable[[Story], None]] = {
        "day 13": _the_first_round_leaves_as_told,
        "day 20": _a_late_initial_is_kept_with_every_reason,
        "day 25": _a_note_on_an_old_revision_is_carried_once,
        "day 28": _initials_sent_twice_are_given_once,
        "day 70": _lines_move_on_through_the_washes,
    }
    passed: list[str] = []

    def after(day: str) -> None:
        if day in {"day 13", "day 28"}:
            _stands(replayed.story, day.removeprefix("day "))
        if day in checks:
            checks[day](replayed.story)
            passed.append(day)

    replayed = Unpainted(70, after)
    replayed.run()
    assert passed == list(checks)
    assert broken_at(replayed.story.the_book().key) is None


def _stands(story: Story, day: str) -> None:
    for label, item in story.items.items():
        expected = STANDINGS.get(label, {})
        told = expected.get(day, {"stage": "sketch", "standing": "OK"})
        row = stage_of(Item.objects.get(pk=item.pk))
        assert row is not None
        assert (row.stage, row.standing) == (told["stage"], told["standing"]), label


def _the_first_round_leaves_as_told(story: Story) -> None:
    artist, author, item = story.people["TOV"], story.people["MOF"], story.items["8-9"]
    declined = story.raised["A4"].pk
    lines = [
        line.note.pk for sheet in sheets_for(artist, item) for line in sheet.lines.all()
    ]
    assert declined not in lines
    assert story.note("A5").line == "1.1"
    assert story.note("A1").line == "1.2"
    assert [one.note.pk for one in notes_for(author, item)] == [declined]


def _a_late_initial_is_kept_with_every_reason(story: Story) -> None:
    kept = Entry.objects.get(kind="arrived too late")
    reasons = kept.details["reasons"]
    assert len(reasons) == 4
    assert "returned" in reasons[0]
    for facet, reason in zip(("fit", "story", "art"), reasons[1:], strict=True):
        assert facet in reason


def _a_note_on_an_old_revision_is_carried_once(story: Story) -> None:
    note = story.note("B4")
    assert note.made_on.number == 1
    assert Note.objects.filter(words=note.words).count() == 1


def _initials_sent_twice_are_given_once(story: Story) -> None:
    six = ["8-9", "10-11", "14-15", "16-17", "20-21", "26-27"]
    given = Initial.objects.filter(
        person=story.people["MOF"],
        slip__stage="sketch",
        slip__item__label__in=six,
        ended_at=None,
    )
    assert given.count() == 6


def _lines_move_on_through_the_washes(story: Story) -> None:
    assert {story.note(no).stage for no in ("B2", "B5", "B7")} == {"final"}
    assert story.note("A12").state == Note.State.LEFT
    slate = slate_of(story.fresh(story.items["10-11"]))
    assert slate is not None
    assert slate.stage == "final"
