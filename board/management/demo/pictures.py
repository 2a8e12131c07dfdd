"""Pictures of the demo book: painted, uploaded as files and prepared."""

import os
import tempfile
from collections.abc import Callable, Container
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor
from contextvars import copy_context
from functools import partial
from multiprocessing import get_context
from pathlib import Path

from django.db import connections

from accounts.models import Person
from board.books.models import Book, Item
from board.checks.models import CheckRun
from board.checks.tasks import check_revision
from board.light_table.models import Comparison
from board.light_table.tasks import compare_pair
from board.repro import uploads
from board.repro.store import checksum, part_path
from board.revisions.actions import lay_again
from board.revisions.actions.uploads import UploadDraft, arrived, start_upload
from board.revisions.models import Revision, Upload
from board.revisions.queries import is_laid
from board.revisions.rules import Declared, Laying
from board.revisions.tasks import prepare
from fixtures.drawing import paint
from fixtures.drawing.storyboard import paint_storyboard

Wanted = tuple[str, str]  # item label, revision name like sk1
STAGES = {"th": "thumbnails", "sk": "sketch", "wa": "washes", "fa": "final"}
HANDS = max(1, min(4, os.cpu_count() or 1))


class NotPrepared(Exception):
    """A demo picture could not be laid; the message says which and why."""


class Easel:
    """Paints what the calendar will want, ahead of need."""

    def __init__(self, wanted: list[Wanted], *, storyboard: bool) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="demo-")
        self._pool = ProcessPoolExecutor(HANDS, mp_context=get_context("spawn"))
        self._coming: dict[Wanted, Future[None]] = {}
        self._sheet = Path(self._folder.name) / "storyboard.jpg"
        if storyboard:
            self._sheet_coming = self._pool.submit(paint_storyboard, self._sheet)
        for label, name in wanted:
            out = self._path(label, name)
            coming = self._pool.submit(paint, label, name, out)
            self._coming[label, name] = coming

    def take(self, label: str, name: str) -> Path:
        self._coming[label, name].result()
        return self._path(label, name)

    def take_storyboard(self) -> Path:
        self._sheet_coming.result()
        return self._sheet

    def _path(self, label: str, name: str) -> Path:
        return Path(self._folder.name) / f"{label}_{name}.png"

    def close(self) -> None:
        self._pool.shutdown(cancel_futures=True)
        self._folder.cleanup()


def upload(path: Path, *, item: Item, stage: str, by: Person) -> Revision:
    """Bring a file in as the tus door does, and make its revision."""
    draft = UploadDraft(path.name, path.stat().st_size, item, stage)
    return bring_in(path, draft, book=item.book, by=by).revision


def bring_in(path: Path, draft: UploadDraft, *, book: Book, by: Person) -> Upload:
    """Give a file's bytes as the tus door does; what is refused ends the replay."""
    row = start_upload(by=by, book=book, draft=draft)
    part = part_path(row.key)
    part.write_bytes(path.read_bytes())
    arrived(row.key, part, checksum(part))
    uploads.drop_part(row.key)
    row.refresh_from_db()
    if row.refused:
        raise NotPrepared(f"{path.name}: {row.refused}")
    return row


def prepare_all(
    revisions: list[Revision], *, straight: Container[int] = ()
) -> list[Revision]:
    """Prepare pictures side by side; all of them must be laid in the end.

    What the board would not lay by itself the artist lays by its word where she sent
    the bled art straight; `straight` names the items of such pictures.
    """
    _prepare_side_by_side(revisions)
    doubted = [
        revision
        for revision in revisions
        if revision.unlaid_because and revision.item_id in straight
    ]
    for revision in doubted:
        event = f"lay-{revision.key}"
        lay_again(revision, laying=Laying(Declared.BLED), by=revision.by, event=event)
    _prepare_side_by_side(doubted)
    for revision in revisions:
        if not is_laid(revision):
            why = revision.failure or revision.unlaid_because
            raise NotPrepared(f"{revision.item.label} {revision.stage}: {why}")
    return revisions


def _prepare_side_by_side(revisions: list[Revision]) -> None:
    with ThreadPoolExecutor(HANDS) as hands:
        keys = [revision.key for revision in revisions]
        coming = [hands.submit(copy_context().run, _prepare, key) for key in keys]
        for one in coming:
            one.result()
    for revision in revisions:
        revision.refresh_from_db()


def measure_all(revisions: list[Revision], *, check: bool) -> None:
    """Compare pictures now, and check them where later days of the calendar lean on it.

    The rest is left to the worker.
    """
    pairs = Comparison.objects.filter(after__in=revisions, work="waiting")
    runs = CheckRun.objects.filter(revision__in=revisions, work="waiting")
    work = [
        partial(compare_pair.call, key) for key in pairs.values_list("key", flat=True)
    ]
    if check:
        keys = runs.values_list("key", flat=True)
        work += [partial(check_revision.call, key) for key in keys]
    with ThreadPoolExecutor(HANDS) as hands:
        coming = [hands.submit(copy_context().run, _alone, one) for one in work]
        for one in coming:
            one.result()


def _alone(work: Callable[[], object]) -> None:
    try:
        work()
    finally:
        connections.close_all()


def _prepare(key: str) -> None:
    try:
        prepare.call(key)
    finally:
        connections.close_all()
