"""Replays the calendar up to a day."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import groupby

from board.daybook.actions import replayed_at
from board.management.demo import opening, rounds, sittings, sources, thumbnails
from board.management.demo.pictures import (
    STAGES,
    Easel,
    Wanted,
    measure_all,
    prepare_all,
    upload,
)
from board.management.demo.story import Facts, Story
from board.slips.actions import stages
from fixtures.drawing import SHOTS
from fixtures.drawing.storyboard import STORY

OPENS_ON = 26
LAST_DAY = 150
SECOND_SKETCH = "sk2"
MEASURED_FROM = 110  # finals are checked before the calendar goes on

Say = Callable[[str], None]


class Replay:
    """The calendar as acts, one after another, each at its own moment."""

    def __init__(self, day: int, say: Say) -> None:
        self.day, self.say = day, say
        start = datetime.now(UTC) - timedelta(days=day, hours=8)
        self.story = Story(start)
        wanted = self._wanted()
        self.easel = Easel(wanted, storyboard=self._tells("storyboard"))
        self.acts: dict[str, Callable[[Story, Facts], None]] = {
            "make book": self._make_book,
            "text version": opening.text_version,
            "describe": opening.describe_all,
            "open stage": self._open_stage,
            "waive": self._waive,
            "storyboard": self._storyboard,
            "lay out": self._lay_out,
            "picture adds": thumbnails.say_what_they_add,
            "send up": self._send_up,
            "raise notes": rounds.raise_notes,
            "author notes": rounds.author_notes,
            "rule pairs": rounds.rule_pairs,
            "merge": rounds.merge,
            "note sheet": rounds.note_sheet,
            "answers": rounds.answers,
            "close answered": rounds.close_answered,
            "close": rounds.close_named,
            "answer and close": rounds.answer_and_close,
            "initial": rounds.initial,
            "initial as corrected": rounds.initial_as_corrected,
            "late initial": rounds.late_initial,
            "refuse": rounds.refuse,
            "stet": rounds.stet,
            "hold": rounds.hold,
            "release": rounds.release,
            "withdraw": rounds.withdraw,
            "short slip": rounds.short_slip,
            "book slip": rounds.book_slip,
            "clearance": sources.clearance,
            "reading": sources.reading,
            "plan sitting": sittings.plan,
            "sitting": sittings.hold,
            "close sitting": sittings.close,
        }

    def run(self) -> Story:
        try:
            for day, events in groupby(self.story.until(self.day), _day):
                for place, event in enumerate(events):
                    with replayed_at(self.story.moment(day, place)):
                        self.acts[event["act"]](self.story, event)
                self.say(f"day {day}")
        finally:
            self.easel.close()
        return self.story

    def _wanted(self) -> list[Wanted]:
        labels = [row["label"] for row in self.story.facts["items"]]
        framed = STORY if self._tells("lay out") else ()
        wanted: list[Wanted] = []
        for event in self.story.until(self.day):
            if event["act"] == "send up":
                named = labels if event["items"] == "all" else event["items"]
                rev = event["rev"]
                small = framed if rev == thumbnails.REVISION else ()
                wanted += [(label, rev) for label in named if label not in small]
        return wanted

    def _tells(self, act: str) -> bool:
        """Whether the calendar has such an act by then."""
        return any(event["act"] == act for event in self.story.until(self.day))

    def _make_book(self, story: Story, event: Facts) -> None:
        opening.make_book(story, event)
        self._set_press(story)
        sources.enter_all(story)

    def _set_press(self, story: Story) -> None:
        opening.set_press(story)

    def _storyboard(self, story: Story, event: Facts) -> None:
        thumbnails.send_sheet(story, event, self.easel.take_storyboard())

    def _lay_out(self, story: Story, event: Facts) -> None:
        thumbnails.lay_frames(story, event)

    def _open_stage(self, story: Story, event: Facts) -> None:
        for item in story.items_of(event):
            stages.open_stage(
                by=story.people[event["by"]],
                item=item,
                stage=event["stage"],
                event=story.event(),
            )

    def _waive(self, story: Story, event: Facts) -> None:
        for item in story.items_of(event):
            stages.waive_stage(
                by=story.people[event["by"]],
                item=item,
                stage=event["stage"],
                reason=event["reason"],
                event=story.event(),
            )

    def _send_up(self, story: Story, event: Facts) -> None:
        by, stage = story.people[event["by"]], STAGES[event["rev"][:2]]
        items = story.items_of(event)
        lying = story.framed if event["rev"] == thumbnails.REVISION else {}
        came = [
            lying.get(item.label)
            or upload(
                self.easel.take(item.label, event["rev"]), item=item, stage=stage, by=by
            )
            for item in items
        ]
        straight = {
            item.pk for item in items if (item.label, event["rev"]) not in SHOTS
        }
        for revision in prepare_all(came, straight=straight):
            sources.turn(story, revision, event["rev"])
            stages.send_up(by=by, revision=revision, event=story.event())
            if event["rev"] == SECOND_SKETCH:
                opening.move_boxes(story, revision.item)
        measure_all(came, check=event["day"] >= MEASURED_FROM)


def _day(event: Facts) -> int:
    return int(event["day"])
