"""What the supervisor looks after between two looks at its children."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from django.utils import timezone
from django_tasks_db.models import DBTaskResult
from pytest_django import Settings

from board.errors import NotFound
from board.management.running import processes
from board.repro import store, uploads

KEY = "an-upload-on-its-way"


@pytest.fixture
def folder(settings: object, tmp_path: Path) -> Path:
    settings.BOARD_FOLDER = tmp_path  # type: ignore[attr-defined]  # pytest-django's
    return tmp_path


@pytest.fixture(autouse=True)
def _no_database(monkeypatch: pytest.MonkeyPatch) -> None:
    for room in (processes, uploads):
        monkeypatch.setattr(room, "close_old_connections", lambda: None)


@pytest.mark.parametrize("fault", [NotFound, FileNotFoundError, ValueError])
def test_a_chore_that_fails_ends_neither_the_board_nor_the_other_chores(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, fault: type[Exception]
) -> None:
    done: list[str] = []

    def fails() -> int:
        raise fault

    def works() -> int:
        done.append("swept")
        return 0

    monkeypatch.setattr(processes, "SWEEPS", (fails, works))
    processes.Chores(tmp_path)()
    assert done == ["swept"]


def test_a_note_that_a_kill_left_half_written_stops_no_sweep(folder: Path) -> None:
    uploads.begin_upload(KEY, length=3, filename="08-09.png")
    parts = store.part_path(KEY).parent
    (parts / f"{store.TEMPORARY}cut.json").write_bytes(b"")
    store.part_path(KEY).write_bytes(b"abc")
    assert uploads.untold_uploads() == [KEY]
    assert uploads.expire_uploads() == []


def test_a_file_that_came_whole_but_too_late_is_ended_and_not_told_for_ever(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uploads, "hooks", lambda: Ends)
    uploads.begin_upload(KEY, length=3, filename="08-09.png")
    store.part_path(KEY).write_bytes(b"abc")
    note = uploads.read_note(KEY)
    uploads.save_note(KEY, replace(note, expires=1))
    assert uploads.untold_uploads() == []
    assert uploads.expire_uploads() == [KEY]
    assert list(store.part_path(KEY).parent.iterdir()) == []


class Ends:
    @staticmethod
    def ended(upload_key: str) -> None:
        assert upload_key == KEY


def test_what_kills_left_in_the_folder_is_swept_by_the_running_board(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    swept: list[bool] = []
    monkeypatch.setattr(processes, "SWEEPS", ())
    monkeypatch.setattr(store, "sweep", lambda: swept.append(True))
    chores = processes.Chores(folder)
    chores()
    chores()
    assert swept == [True]


@pytest.mark.django_db
def test_old_results_of_the_queue_are_forgotten_and_fresh_or_waiting_ones_kept(
    settings: Settings,
) -> None:
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    now = timezone.now()
    old, fresh = now - timedelta(days=8), now - timedelta(days=1)
    for state, ended in (("SUCCESSFUL", old), ("SUCCESSFUL", fresh), ("READY", None)):
        DBTaskResult.objects.create(
            status=state,
            finished_at=ended,
            args_kwargs={"args": [], "kwargs": {}},
            task_path="board.checks.tasks.check_revision",
            backend_name="default",
        )
    processes.forget_finished_work()
    left = DBTaskResult.objects.values_list("status", "finished_at")
    assert set(left) == {("SUCCESSFUL", fresh), ("READY", None)}
