"""The demo book's calendar, replayed through the actions: standings hold by the day."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from board.books.models import Item
from board.books.queries import text_number_of
from board.books.rules import Stage
from board.checks.models import CheckRun
from board.daybook.actions import this_moment
from board.daybook.models import Entry
from board.daybook.queries import broken_at
from board.errors import NotPermitted
from board.light_table.models import Comparison
from board.light_table.queries import recipe_of
from board.management.demo import sources
from board.management.demo.pictures import STAGES
from board.management.demo.replay import Replay
from board.management.demo.story import Facts, Story
from board.revisions.models import Revision
from board.revisions.queries import current
from board.slips.actions import rulings, stages
from board.slips.models import Initial
from board.slips.queries.book import book_standing
from board.slips.queries.replayed import differs
from board.slips.queries.sentences import why_not_ok_told
from board.slips.queries.slates import slate_of, stage_of
from board.tissue.models import Note
from board.tissue.queries import notes_for, sheets_for
from tests import make

FIXTURES = Path(__file__).parents[2] / "fixtures"
STANDINGS = json.loads((FIXTURES / "standings.json").read_text("utf-8"))
DIFFERENCES = json.loads((FIXTURES / "differences.json").read_text("utf-8"))


class Unpainted(Replay):
    """The replay with revisions that were never painted: moves only, in seconds.

    What the light table and the checks would have found is told by the files.
    """

    def _wanted(self) -> list[tuple[str, str]]:
        return []

    def _tells(self, act: str) -> bool:
        return False

    def _storyboard(self, story: Story, event: Facts) -> None:
        """Nothing is drawn, so nothing can be cut."""

    def _lay_out(self, story: Story, event: Facts) -> None:
        """Nothing was cut, so nothing is laid out."""

    def _set_press(self, story: Story) -> None:
        """No picture is measured, so no profile is looked over."""

    def _send_up(self, story: Story, event: Facts) -> None:
        by, name = story.people[event["by"]], event["rev"]
        for item in story.items_of(event):
            stage = STAGES[name[:2]]
            before = current(item, stage)
            new = make.revision(of=item, by=by, stage=Stage(stage))
            sources.turn(story, new, name)
            stages.send_up(by=by, revision=new, event=story.event())
            _compared(item, before, new, name)
            _checked(item, new, name)


def _compared(item: Item, before: Revision | None, new: Revision, name: str) -> None:
    if before is None:
        return
    told = DIFFERENCES.get(item.label, {}).get(name, {"changes": []})
    sides = ("x", "y", "width", "height")
    Comparison.objects.create(
        before=before,
        after=new,
        recipe=recipe_of(before, new),
        work=Comparison.State.DONE,
        changes=[
            dict(zip(sides, one["region"], strict=True))
            | {"area": 0.01, "mean": 5.0, "peak": 9.0}
            for one in told["changes"]
        ],
    )


STOPPED = {
    ("10-11", "fa1"): {"check": "bleed", "figure": "right edge, 2.0 mm short"},
    ("26-27", "fa1"): {"check": "resolution", "figure": "76 ppi"},
}


def _checked(item: Item, new: Revision, name: str) -> None:
    found = STOPPED.get((item.label, name))
    CheckRun.objects.create(
        revision=new,
        recipe="told",
        work=CheckRun.State.DONE,
        asked_at=this_moment(),
        findings=[{**found, "level": "stop", "says": ""}] if found else [],
    )


def test_the_calendar_holds_day_by_day(db: None) -> None:
    checks: dict[str, Callable[[Story], None]] = {
        "day 13": _the_first_round_leaves_as_told,
        "day 20": _a_late_initial_is_kept_with_every_reason,
        "day 25": _a_note_on_an_old_revision_is_carried_once,
        "day 28": _initials_sent_twice_are_given_once,
        "day 70": _lines_move_on_through_the_washes,
        "day 118": _nobody_stets_for_another,
        "day 121": _stands_at_final,
        "day 131": _initials_are_carried,
        "day 138": _the_book_slip_names_four,
        "day 140": _a_comma_undoes_only_what_depends_on_it,
        "day 150": _passed_for_press,
    }
    passed: list[str] = []

    def after(day: str) -> None:
        if day.removeprefix("day ") in STANDINGS["8-9"]:
            _stands(replayed.story, day.removeprefix("day "))
        if day in checks:
            checks[day](replayed.story)
            passed.append(day)

    replayed = Unpainted(150, after)
    replayed.run()
    assert passed == list(checks)
    assert broken_at(replayed.story.the_book().key) is None
    assert differs(replayed.story.the_book()) == []


def _stands(story: Story, day: str) -> None:
    others = {"stage": "sketch" if int(day) < 100 else "final", "standing": "OK"}
    for label, item in story.items.items():
        told = STANDINGS.get(label, {}).get(day, others)
        row = stage_of(Item.objects.get(pk=item.pk))
        assert row is not None
        stands = row.stage, row.standing
        assert stands == (told["stage"], told["standing"]), (day, label)
        held = item.holds.filter(released_at=None).exists()
        assert held == told.get("held", False), (day, label)
        if "short_slip" in told:
            slip = item.slips.get(stage="final", closed_at=None)
            assert slip.short == told["short_slip"], (day, label)


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


def _nobody_stets_for_another(story: Story) -> None:
    pink, wrapper = story.note("C4"), story.note("C5")
    assert (pink.state, pink.ended_by) == (Note.State.STET, story.people["GS"])
    with pytest.raises(NotPermitted):
        rulings.stet(
            by=story.people["IQ"], note=wrapper, ruling="x", event=make.event()
        )


def _stands_at_final(story: Story) -> None:
    sentences = why_not_ok_told(story.fresh(story.items["12-13"]), story.people["DC"])
    told = " ".join(sentences)
    assert "C05 is asked" in told
    assert "C09 is unknown" in told


def _initials_are_carried(story: Story) -> None:
    for label in ("8-9", "10-11", "20-21"):
        live = Initial.objects.filter(slip__item__label=label, ended_at=None)
        kinds = sorted(live.filter(slip__stage="final").values_list("kind", flat=True))
        assert kinds == ["carried"] * 5, label
    full = Initial.objects.filter(slip__item__label="16-17", slip__stage="final")
    assert not full.filter(ended_at=None).exists()


def _the_book_slip_names_four(story: Story) -> None:
    standing = book_standing(story.the_book(), Stage.FINAL, story.people["DC"])
    told = standing.why_not_open
    assert len(told) == 4
    for word in ("C05", "C09", "clearance", "reading"):
        assert any(word in sentence for sentence in told), word


def _a_comma_undoes_only_what_depends_on_it(story: Story) -> None:
    live = Initial.objects.filter(
        slip__item__label="8-9", slip__stage="final", ended_at=None
    )
    assert {one.facet for one in live} == {"art", "press", "clearance"}
    assert story.note("C12").state == Note.State.LATE
    assert text_number_of(story.items["28-29"]) == 1


def _passed_for_press(story: Story) -> None:
    standing = book_standing(story.the_book(), Stage.FINAL, story.people["IQ"])
    assert standing.complete
    assert text_number_of(story.items["8-9"]) == 3
    coded = story.the_book().texts.exclude(code="")
    assert [one.payer for one in coded] == ["none, by agreement"] * 2
