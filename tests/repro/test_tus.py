"""The upload door keeps to tus 1.0.0, word by word.

Source of every status and header here: tus resumable upload protocol 1.0.0.
"""

import hashlib
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from board.repro import grants, store, uploads
from tests.repro.lines import BODY, CHUNK, Line, arrivals, begin, checksum
from tests.repro.serving import Server

# ------------------------------------------------------------------------------ core


def test_options_tells_what_the_door_can_do(server: Server) -> None:
    came = server.http.request("OPTIONS", "/u/")
    assert came.status_code == 204
    assert came.headers["tus-version"] == "1.0.0"
    assert came.headers["tus-resumable"] == "1.0.0"
    assert set(came.headers["tus-extension"].split(",")) == {
        "creation",
        "checksum",
        "termination",
        "expiration",
    }
    assert came.headers["tus-max-size"] == str(1024**3)
    assert came.headers["tus-checksum-algorithm"] == "sha1,sha256"


def test_a_file_sent_in_two_chunks_arrives_whole(
    line: Line, key: str, folder: Path
) -> None:
    first = line.patch(0, BODY[:4000])
    assert (first.status_code, first.headers["upload-offset"]) == (204, "4000")
    assert "upload-expires" in first.headers
    head = line.ask("HEAD")
    assert head.status_code == 200
    assert head.headers["upload-offset"] == "4000"
    assert head.headers["upload-length"] == str(len(BODY))
    assert head.headers["cache-control"] == "no-store"
    assert arrivals(folder, key) == []
    last = line.patch(4000, BODY[4000:])
    assert (last.status_code, last.headers["upload-offset"]) == (204, str(len(BODY)))
    digest = hashlib.sha256(BODY).hexdigest()
    assert [said["sha256"] for said in arrivals(folder, key)] == [digest]
    assert store.original_path(digest).read_bytes() == BODY
    assert line.offset() == len(BODY)
    assert len(arrivals(folder, key)) == 1


def test_the_method_may_be_told_in_a_header(line: Line) -> None:
    came = line.ask(
        "POST",
        body=b"abc",
        x_http_method_override="PATCH",
        content_type=CHUNK,
        upload_offset="0",
    )
    assert (came.status_code, came.headers["upload-offset"]) == (204, "3")


@pytest.mark.parametrize("version", ["none", "0.2.2", "1.0.1"])
def test_another_version_is_412_and_changes_nothing(line: Line, version: str) -> None:
    for method in ("HEAD", "PATCH", "DELETE", "POST"):
        came = line.ask(
            method, tus_resumable=version, content_type=CHUNK, upload_offset="0"
        )
        assert came.status_code == 412
        assert came.headers["tus-version"] == "1.0.0"
    assert line.offset() == 0


def test_a_wrong_offset_is_409_and_changes_nothing(line: Line) -> None:
    line.patch(0, b"abc")
    for offset in (0, 2, 4):
        assert line.patch(offset, b"xyz").status_code == 409
    assert line.offset() == 3


def test_a_wrong_type_is_415_and_no_offset_400(line: Line) -> None:
    assert line.patch(0, b"abc", content_type="image/tiff").status_code == 415
    assert line.patch(0, b"abc", content_type="none").status_code == 415
    for offset in ("none", "-1", "1.5", "x", "٣", "9" * 40):
        sent = offset if offset.isascii() else "+3"
        assert line.patch(0, b"abc", upload_offset=sent).status_code == 400
    assert line.offset() == 0


def test_more_than_was_said_is_413_and_cut_off(line: Line, server: Server) -> None:
    line.patch(0, BODY[:100])
    assert line.patch(100, BODY).status_code == 413
    assert line.offset() == 100

    def unsaid() -> Any:
        yield BODY
        yield BODY

    came = server.http.request(
        "PATCH",
        line.url,
        content=unsaid(),
        headers={
            "tus-resumable": "1.0.0",
            "content-type": CHUNK,
            "upload-offset": "100",
        },
    )
    assert came.status_code == 413
    assert line.offset() == 100
    assert line.patch(100, BODY[100:]).status_code == 204


def test_an_unknown_upload_is_404_and_a_past_one_410(
    server: Server, line: Line, key: str
) -> None:
    assert (
        Line(server, grants.grant_upload("no-such-one")).ask("HEAD").status_code == 404
    )
    note = uploads.read_note(key)
    uploads.save_note(key, replace(note, expires=int(time.time()) - 1))
    assert line.ask("HEAD").status_code == 410
    assert line.patch(0, b"abc").status_code == 410


def test_a_ticket_opens_its_own_upload_only(server: Server, key: str) -> None:
    other = begin()
    good = grants.grant_upload(key, "ann")
    for url in (
        good.replace(key, other),
        good.replace("ann", "bob"),
        good.split("?")[0],
        good[:-8],
        grants.grant_upload(key, "ann", now=time.time() - 8 * 86_400),
    ):
        for method in ("HEAD", "PATCH", "DELETE"):
            assert Line(server, url).ask(method).status_code == 403, url
    assert uploads.offset_of(other) == 0


def test_a_second_writer_is_423(line: Line, key: str) -> None:
    with uploads.locked(key):
        assert line.patch(0, b"abc").status_code == 423
        assert line.ask("DELETE").status_code == 423
        assert line.offset() == 0
    assert line.patch(0, b"abc").status_code == 204


def test_an_unknown_method_is_405(line: Line) -> None:
    came = line.ask("PUT")
    assert came.status_code == 405
    assert "PATCH" in came.headers["allow"]


# --------------------------------------------------------------------------- checksum


@pytest.mark.parametrize("kind", ["sha1", "sha256"])
def test_a_right_checksum_is_taken_and_a_wrong_one_is_460(
    line: Line, kind: str, key: str, folder: Path
) -> None:
    good = line.patch(0, BODY[:500], upload_checksum=checksum(kind, BODY[:500]))
    assert good.status_code == 204
    bad = line.patch(500, BODY[500:900], upload_checksum=checksum(kind, b"else"))
    assert bad.status_code == 460
    assert line.offset() == 500
    rest = line.patch(500, BODY[500:], upload_checksum=checksum(kind, BODY[500:]))
    assert rest.status_code == 204
    assert arrivals(folder, key)[0]["sha256"] == hashlib.sha256(BODY).hexdigest()


@pytest.mark.parametrize("said", ["md4 AAAA", "sha1 !!!", "sha1", ""])
def test_a_checksum_it_cannot_check_is_refused(line: Line, said: str) -> None:
    status = line.patch(0, b"abc", upload_checksum=said).status_code
    assert status == (460 if said == "sha1" else 400)
    assert line.offset() == 0


def test_a_chunk_whose_checksum_was_never_confirmed_is_cut_off(
    line: Line, key: str
) -> None:
    """As after a kill in the middle of a checksummed chunk."""
    line.patch(0, BODY[:300])
    note = uploads.read_note(key)
    uploads.save_note(key, replace(note, checking=300))
    with store.part_path(key).open("ab") as file:
        file.write(b"half a chunk")
    assert line.offset() == 300
    assert line.patch(300, BODY[300:]).status_code == 204
