"""A storyboard sheet drawn here and now, and what its page sends."""

from typing import Any

import cv2
import numpy as np

from accounts.models import Person
from board.books.models import Book, Item
from board.books.rules import Kind, Stage, Standing
from board.revisions.actions.uploads import UploadDraft, start_upload
from board.revisions.models import StoryboardSheet, Upload
from tests import make
from tests.revisions.pictures import Pixels, give_bytes, jpeg, spread

Corners = list[list[float]]
ACROSS, DOWN = 3, 4
SIZE = (1500, 1400)
FRAME = (400, 200)


def corner_of(number: int) -> tuple[int, int]:
    """Where the frame of this number begins, from 0, in pixels."""
    return (75 + (number % ACROSS) * 475, 110 + (number // ACROSS) * 310)


def drawn_sheet(seed: int = 5) -> Pixels:
    """Twelve drawn frames on paper, each with its own scribble."""
    rng = np.random.default_rng(seed)
    paper = np.full((SIZE[1], SIZE[0], 3), 244, np.uint8)
    for number in range(ACROSS * DOWN):
        x, y = corner_of(number)
        inside = spread(seed + number, FRAME)
        pale = (inside.astype(np.float64) * 0.3 + 165).astype(np.uint8)
        paper[y : y + FRAME[1], x : x + FRAME[0]] = pale
        cv2.rectangle(paper, (x, y), (x + FRAME[0], y + FRAME[1]), (50, 48, 52), 4)
    grain = rng.integers(-3, 4, (*paper.shape[:2], 1))
    return np.asarray(np.clip(paper.astype(np.int16) + grain, 0, 255), np.uint8)


BODY = jpeg(drawn_sheet())


def opened(book: Book) -> list[Item]:
    """Thumbnails opened on the story spreads and the title, in page order."""
    items = [item for item in book.items.all() if item.story or item.kind == Kind.TITLE]
    for item in items:
        make.at(item, Stage.THUMBNAILS, Standing.AT_THE_TABLE)
    return items


def sheet_sent(by: Person, book: Book, body: bytes = BODY) -> StoryboardSheet:
    draft = UploadDraft("all.jpg", len(body), storyboard=True)
    upload = start_upload(by=by, book=book, draft=draft)
    give_bytes(upload, body)
    assert upload.state == Upload.State.TAKEN_IN, upload.refused
    return StoryboardSheet.objects.get(upload=upload)


def square(number: int) -> list[list[float]]:
    x, y = corner_of(number)
    wide, high = FRAME
    corners = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)]
    return [[a / SIZE[0], b / SIZE[1]] for a, b in corners]


def sheet_cut(by: Person, book: Book, frames: int = 12) -> StoryboardSheet:
    """A sheet as it is after its cut, without the looking."""
    return StoryboardSheet.objects.create(
        book=book,
        by=by,
        filename="all.jpg",
        sha256="5" * 64,
        size=1000,
        width=SIZE[0],
        height=SIZE[1],
        sent_at=make.NOW,
        work=StoryboardSheet.State.DONE,
        step="ready",
        frames=[{"corners": square(n), "item": ""} for n in range(frames)],
        sure=True,
    )


def said(frames: list[tuple[str, Corners]], **more: Any) -> dict[str, Any]:
    """What the page's form sends for these items and corners."""
    data: dict[str, Any] = {
        "frame-TOTAL_FORMS": len(frames),
        "frame-INITIAL_FORMS": 0,
        "event": make.event(),
        "act": "lay out",
    }
    for number, (key, corners) in enumerate(frames):
        data[f"frame-{number}-item"] = key
        for corner, (x, y) in enumerate(corners, start=1):
            data[f"frame-{number}-x{corner}"] = f"{x * 100:.3f}"
            data[f"frame-{number}-y{corner}"] = f"{y * 100:.3f}"
    return data | more
