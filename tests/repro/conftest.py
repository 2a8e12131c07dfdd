"""What the tests of repro share: a data folder of their own and a server on it."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from board.repro import grants, store
from board.repro.laying import lay
from board.repro.sheets import SheetSize, bled_matrix
from tests.repro import pictures
from tests.repro.lines import Line, begin
from tests.repro.serving import HOOKS, Server, serving


@pytest.fixture(autouse=True)
def no_rooms(monkeypatch: pytest.MonkeyPatch) -> None:
    """No room stands over repro here, so none is asked before an original goes."""
    monkeypatch.setattr(store, "_holders", [])


@pytest.fixture(scope="session")
def shared_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("board")


@pytest.fixture(scope="session")
def shared_server(shared_folder: Path) -> Iterator[Server]:
    with serving(shared_folder) as running:
        yield running


@pytest.fixture
def folder(shared_folder: Path, settings: Any) -> Path:
    """The data folder of the shared server; every test names its own keys."""
    settings.BOARD_FOLDER = shared_folder
    settings.BOARD_UPLOAD_HOOKS = HOOKS
    return shared_folder


@pytest.fixture
def server(folder: Path, shared_server: Server) -> Server:
    """One server for all tests that do not kill it."""
    return shared_server


@pytest.fixture
def own_folder(tmp_path: Path, settings: Any) -> Path:
    settings.BOARD_FOLDER = tmp_path / "board"
    settings.BOARD_UPLOAD_HOOKS = HOOKS
    settings.BOARD_FOLDER.mkdir()
    return Path(settings.BOARD_FOLDER)


@pytest.fixture
def laid_key(folder: Path, tmp_path: Path) -> str:
    """A picture of 1500 x 700 laid under a key."""
    if store.picture_folder("picture-1").exists():
        return "picture-1"
    sheet = SheetSize(100, 50, 3, 5)
    art = np.ascontiguousarray(pictures.painted(1500, 760))
    with store.new_picture("picture-1") as fresh:
        lay(
            pictures.developed(tmp_path / "art.v", art),
            bled_matrix(1500, 760, sheet),
            sheet,
            fresh,
        )
    return "picture-1"


@pytest.fixture
def key(folder: Path) -> str:
    return begin()


@pytest.fixture
def line(server: Server, key: str) -> Line:
    return Line(server, grants.grant_upload(key, "ann"))
