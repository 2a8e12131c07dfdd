"""How uploads begin, end and reach the board; tus 1.0.0 creation, termination, expiration."""

import hashlib
import time
from base64 import b64encode
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from board.errors import DiskNearlyFull, NotUnderstood, TooLarge
from board.repro import grants, store, uploads
from tests.repro.lines import BODY, Line, begin
from tests.repro.serving import Server, serving, told

# --------------------------------------------------------- creation, end, expiration


def test_a_client_creates_an_upload_with_a_ticket(server: Server, folder: Path) -> None:
    door = Line(server, grants.grant_creation({"book": "b1"}))
    name = b64encode("Seite é.tif".encode()).decode()
    came = door.ask(
        "POST", upload_length="3", upload_metadata=f"filename {name},relative"
    )
    assert came.status_code == 201
    assert "upload-expires" in came.headers
    line = Line(server, came.headers["location"])
    assert line.patch(0, b"abc").status_code == 204
    said = told(folder, "created")[-1]
    assert (said["payload"], said["length"]) == ({"book": "b1"}, 3)
    assert said["filename"] == "Seite é.tif"


def test_creation_is_refused_in_words(server: Server) -> None:
    door = Line(server, grants.grant_creation({}))
    assert door.ask("POST").status_code == 400
    assert door.ask("POST", upload_length="x").status_code == 400
    assert door.ask("POST", upload_defer_length="1").status_code == 400
    assert door.ask("POST", upload_length="0").status_code == 422
    assert door.ask("POST", upload_length=str(1024**3 + 1)).status_code == 413
    twice = "a YQ==,a YQ=="
    for bad in ("filename %%%", twice, "filename //79"):
        asked = door.ask("POST", upload_length="3", upload_metadata=bad)
        assert asked.status_code == 400
    closed = Line(server, grants.grant_creation({"refuse": True}))
    came = closed.ask("POST", upload_length="3")
    assert (came.status_code, came.text) == (409, "This stage is closed.")


def test_creation_without_a_good_ticket_is_403(server: Server) -> None:
    past = grants.grant_creation({}, now=time.time() - 700)
    good = grants.grant_creation({"book": "b1"})
    for url in ("/u/", past, good[:-1] + ("A" if good[-1] != "A" else "B")):
        assert Line(server, url).ask("POST", upload_length="3").status_code == 403


def test_an_ended_upload_is_gone_and_the_board_is_told(
    line: Line, key: str, folder: Path
) -> None:
    line.patch(0, b"abc")
    assert line.ask("DELETE").status_code == 204
    assert line.ask("HEAD").status_code == 404
    assert line.patch(3, b"abc").status_code == 404
    assert {"what": "ended", "key": key} in told(folder, "ended")
    assert not store.part_path(key).exists()


def test_what_has_arrived_cannot_be_ended_through_the_door(line: Line) -> None:
    line.patch(0, BODY)
    assert line.ask("DELETE").status_code == 409


@pytest.mark.django_db  # a hook is called as in a request
def test_uploads_that_were_never_finished_run_out(own_folder: Path) -> None:
    old, young = begin(), begin()
    later = time.time() + 8 * 86_400
    note = uploads.read_note(young)
    uploads.save_note(young, replace(note, expires=int(later) + 60))
    assert uploads.expire_uploads(later) == [old]
    assert not store.part_path(old).exists()
    assert store.part_path(young).exists()
    assert [said["key"] for said in told(own_folder, "ended")] == [old]


# ------------------------------------------------------------------- the board's word


def test_a_refusal_by_the_board_reaches_the_client_in_its_words(
    line: Line, folder: Path
) -> None:
    sign = folder / "refuse-arrivals"
    sign.touch()
    try:
        came = line.patch(0, BODY)
        assert came.status_code == 409
        assert came.text == "These are the bytes of the current revision."
        assert line.ask("HEAD").status_code == 409
    finally:
        sign.unlink()
    assert line.offset() == len(BODY)  # told again, and taken in


@pytest.mark.django_db  # a hook is called as in a request
def test_a_kill_between_the_last_byte_and_the_board_is_made_good(
    own_folder: Path,
) -> None:
    key, other = begin(), begin()
    store.part_path(key).write_bytes(BODY)
    store.part_path(other).write_bytes(BODY[:-1])
    assert uploads.untold_uploads() == [key]
    digest = uploads.finish(key)
    assert digest == hashlib.sha256(BODY).hexdigest()
    assert uploads.finish(key) == digest
    assert len(told(own_folder, "arrived")) == 1
    assert uploads.untold_uploads() == []


def test_no_room_is_said_before_a_byte_is_taken(
    own_folder: Path, settings: Any
) -> None:
    settings.BOARD_DISK_RESERVE = 1 << 60
    with pytest.raises(DiskNearlyFull):
        begin()
    settings.BOARD_DISK_RESERVE = 1
    with pytest.raises(TooLarge):
        begin(1024**3 + 1)
    with pytest.raises(NotUnderstood):
        begin(0)
    assert not list(own_folder.rglob("parts/*"))


def test_a_full_disk_stops_a_chunk_with_507(own_folder: Path) -> None:
    key = begin()
    with serving(own_folder, BOARD_DISK_RESERVE=str(1 << 60)) as server:
        line = Line(server, grants.grant_upload(key))
        came = line.patch(0, BODY)
        assert came.status_code == 507
        assert "make room" in came.text
        assert line.offset() == 0
