"""Thumbnails of the story: one photographed sheet, cut and laid; what they add."""

from pathlib import Path

from board.books.actions.describing import say_what_picture_adds
from board.management.demo.pictures import NotPrepared, bring_in
from board.management.demo.story import Facts, Story
from board.revisions.actions.storyboards import keep_cut, lay_out
from board.revisions.actions.uploads import UploadDraft
from board.revisions.models import StoryboardSheet
from board.revisions.rules.storyboards import Frame
from board.revisions.tasks import cut_sheet
from fixtures.drawing.storyboard import STORY

REVISION = "th1"


def send_sheet(story: Story, event: Facts, path: Path) -> None:
    """Send the sheet in, and say which item each frame is that the board finds."""
    by, book = story.people[event["by"]], story.the_book()
    draft = UploadDraft(path.name, path.stat().st_size, storyboard=True)
    came = bring_in(path, draft, book=book, by=by)
    sheet = StoryboardSheet.objects.get(upload=came)
    cut_sheet.call(sheet.key)
    sheet.refresh_from_db()
    if len(sheet.frames) != len(STORY):
        told = sheet.failure or f"{len(sheet.frames)} frames found"
        raise NotPrepared(f"{path.name}: {told}, where {len(STORY)} are drawn.")
    rows = zip(STORY, sheet.frames, strict=True)
    frames = [Frame(story.items[at].key, row["corners"]) for at, row in rows]
    keep_cut(sheet, frames, by=by)


def lay_frames(story: Story, event: Facts) -> None:
    """Put the frames of the sheet into the folders of their items."""
    by = story.people[event["by"]]
    sheet = StoryboardSheet.objects.get(book=story.the_book(), by=by)
    frames = [Frame(row["item"], row["corners"]) for row in sheet.frames]
    for revision in lay_out(sheet, frames, by=by, event=story.event()):
        story.framed[revision.item.label] = revision


def say_what_they_add(story: Story, event: Facts) -> None:
    """Write what each picture tells that the words do not."""
    by = story.people[event["by"]]
    for label, words in story.facts["picture_adds"].items():
        item = story.fresh(story.items[label])
        say_what_picture_adds(
            item, words, by=by, version=item.version, event=story.event()
        )
