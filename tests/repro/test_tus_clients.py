"""Real clients send files through cut lines and killed servers, and lose nothing.

tuspy (Python) and tus-js-client (Node), each as published; the proxy cuts the line.
"""

import hashlib
import json
import shutil
import subprocess
import threading
import time
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from tusclient.client import TusClient
from tusclient.exceptions import TusCommunicationError
from tusclient.uploader.uploader import Uploader

from board.repro import grants, store, uploads
from tests.repro.serving import CuttingProxy, Server, serving, told, wait_until

ROOT = Path(__file__).parents[2]
MB = 1_000_000
needs_node = pytest.mark.skipif(
    not shutil.which("node") or not (ROOT / "node_modules/tus-js-client").exists(),
    reason="node or tus-js-client is not installed here",
)


@pytest.fixture
def proxied(server: Server, request: pytest.FixtureRequest) -> Any:
    proxy = CuttingProxy(server.port, request.param)
    yield proxy
    proxy.close()


def drawn(folder: Path, size: int) -> Path:
    """A file that compresses to nothing and repeats nowhere near."""
    path = folder / "drawn.tif"
    block = hashlib.shake_256(str(size).encode()).digest(MB)
    with path.open("wb") as file:
        for number in range(-(-size // MB)):
            file.write((number.to_bytes(8, "big") + block[8:])[: size - number * MB])
    return path


def begin(size: int) -> str:
    key = uuid4().hex
    uploads.begin_upload(key, length=size, filename="drawn.tif")
    return key


def taken_in(path: Path) -> bool:
    original = store.original_path(store.checksum(path))
    return original.exists() and original.stat().st_size == path.stat().st_size


def node(path: Path, url: str, *more: str, within_s: float = 60) -> dict[str, Any]:
    command = ["node", str(ROOT / "tests/repro/send.mjs"), str(path), url, *more]
    ran = subprocess.run(
        command, capture_output=True, timeout=within_s, check=False, cwd=ROOT
    )
    assert ran.stdout, ran.stderr.decode()
    said: dict[str, Any] = json.loads(ran.stdout)
    return said


def tuspy(path: Path, url: str, chunk: int) -> list[int]:
    """Send a file with tuspy; gives the offset it found the upload at."""
    with path.open("rb") as file:
        sender = Uploader(file_stream=file, url=url, chunk_size=chunk)
        begun = [int(sender.offset)]
        sender.upload()
    return begun


@pytest.mark.parametrize("checked", [0, 1])
def test_tuspy_creates_and_sends_a_file(
    server: Server, folder: Path, tmp_path: Path, checked: int
) -> None:
    path = drawn(tmp_path, 3 * MB + 17 + checked)
    client = TusClient(server.url + grants.grant_creation({"book": "b1"}))
    with path.open("rb") as file:
        client.uploader(
            file_stream=file,
            chunk_size=MB,
            upload_checksum=bool(checked),
            metadata={"filename": "Seite é.tif"},
        ).upload()
    assert taken_in(path)
    assert told(folder, "created")[-1]["filename"] == "Seite é.tif"


@pytest.mark.parametrize("proxied", [[700_000, 1_600_000]], indirect=True)
def test_tuspy_goes_on_where_a_cut_line_stopped(
    server: Server, proxied: CuttingProxy, tmp_path: Path
) -> None:
    path = drawn(tmp_path, 3 * MB + 5)
    key = begin(3 * MB + 5)
    url = proxied.url + grants.grant_upload(key)
    begun: list[int] = []
    for _ in range(20):
        try:
            begun = tuspy(path, url, 10 * MB)
            break
        except TusCommunicationError:
            time.sleep(0.05)  # the server may still hold the cut request's lock
    assert proxied.made == 2
    assert begun[0] > 1_000_000
    assert taken_in(path)


@needs_node
@pytest.mark.parametrize("how", ["create", "upload"])
def test_tus_js_client_sends_a_file(server: Server, tmp_path: Path, how: str) -> None:
    size = 2 * MB + len(how)
    path = drawn(tmp_path, size)
    address = (
        grants.grant_creation({})
        if how == "create"
        else grants.grant_upload(begin(size))
    )
    said = node(path, server.url + address, how, "900000")
    assert "error" not in said
    assert said["begun"] == [0, 900_000, 1_800_000]
    assert taken_in(path)


@needs_node
@pytest.mark.parametrize("proxied", [[2 * MB, 5 * MB]], indirect=True)
@pytest.mark.parametrize("chunk", ["", "1500000"])
def test_tus_js_client_goes_on_where_a_cut_line_stopped(
    server: Server, proxied: CuttingProxy, tmp_path: Path, chunk: str
) -> None:
    size = 8 * MB + len(chunk)
    path = drawn(tmp_path, size)
    url = proxied.url + grants.grant_upload(begin(size))
    said = node(path, url, "upload", chunk)
    assert "error" not in said
    assert proxied.made == 2
    assert said["begun"] == sorted(said["begun"])
    assert proxied.passed < size + 3 * MB  # little was sent twice
    assert taken_in(path)


@needs_node
@pytest.mark.slow
def test_a_server_killed_in_the_middle_loses_nothing(
    own_folder: Path, tmp_path: Path
) -> None:
    size = 120 * MB
    path = drawn(tmp_path, size)
    key = begin(size)
    with serving(own_folder) as server:
        wait_until(lambda: server.http.get("/t/").status_code == 404)
        said: list[dict[str, Any]] = []
        url = server.url + grants.grant_upload(key)
        sender = threading.Thread(target=lambda: said.append(node(path, url)))
        sender.start()
        kept: list[int] = []
        part = store.part_path(key)
        for share in (0.2, 0.5, 0.8):
            wait_until(lambda at=share: part.stat().st_size > at * size, within_s=30)
            server.kill()
            kept.append(part.stat().st_size)
            server.start()
        sender.join(60)
        assert said
        assert "error" not in said[0]
    assert kept == sorted(kept)
    assert len(told(own_folder, "arrived")) == 1
    assert taken_in(path)


@pytest.mark.slow
def test_a_quarter_of_a_gigabyte_leaves_the_server_small(
    own_folder: Path, tmp_path: Path
) -> None:
    """The board's own budget: not more than 200 MB of growth while receiving."""
    size = 250 * MB
    path = drawn(tmp_path, size)
    with serving(own_folder) as server:
        wait_until(lambda: server.http.get("/t/").status_code == 404)
        before = server.resident()
        start = time.perf_counter()
        tuspy(path, server.url + grants.grant_upload(begin(size)), 40 * MB)
        took = time.perf_counter() - start
        grew = server.resident("VmHWM") - before
    assert taken_in(path)
    assert grew < 60 * MB, f"grew by {grew / MB:.0f} MB in {took:.1f} s"
