"""Browser libraries, faces and script tools: brought by npm, copied beside ours."""

import hashlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from board.errors import BoardError
from board.management.running.environment import CHECKOUT

VENDOR = CHECKOUT / "static" / "vendor"
MODULES = CHECKOUT / "node_modules"
NODE_LOCK = CHECKOUT / ".ci" / "node.lock"
# Hashing static files follows the mention of a map, which is not brought along.
SOURCE_MAP = re.compile(rb"^//# sourceMappingURL=\S+\s*", re.M)
OLDEST_NODE = 20
PIP_INSTALL = ("-m", "pip", "install", "--quiet", "--require-hashes")
LIBRARIES = {
    "DejaVuSans.ttf": "dejavu-fonts-ttf/ttf/DejaVuSans.ttf",
    "DejaVuSans-Bold.ttf": "dejavu-fonts-ttf/ttf/DejaVuSans-Bold.ttf",
    "DejaVuSerif.ttf": "dejavu-fonts-ttf/ttf/DejaVuSerif.ttf",
    "DejaVu.LICENSE.txt": "dejavu-fonts-ttf/LICENSE",
    "openseadragon.min.js": "openseadragon/build/openseadragon/openseadragon.min.js",
    "openseadragon.LICENSE.txt": "openseadragon/LICENSE.txt",
    "tus.min.js": "tus-js-client/dist/tus.min.js",
    "tus.LICENSE.txt": "tus-js-client/LICENSE",
}


class FrontEndMissing(BoardError):
    """The browser libraries could not be brought."""


def bring_libraries() -> bool:
    """Put libraries and faces into static/vendor; say whether it had to work."""
    if _stamped(VENDOR / "installed.txt"):
        return False
    if not _copy_libraries():
        with node() as path, tempfile.TemporaryDirectory() as place:
            _npm_ci(Path(place), path, "--omit=dev")
            _copy_libraries(Path(place) / "node_modules")
    _stamp(VENDOR / "installed.txt")
    return True


def bring_tools(path: str) -> bool:
    """Fill node_modules as locked, by the npm on a PATH; say whether it had to work."""
    if _stamped(MODULES / ".installed.txt"):
        return False
    _npm_ci(CHECKOUT, path)
    _stamp(MODULES / ".installed.txt")
    return True


def node_on_path() -> str | None:
    """Return a Node that is new enough, or None."""
    node = shutil.which("node")
    if not node or not shutil.which("npm"):
        return None
    told = subprocess.run(  # noqa: S603 - the node found on the path
        [node, "--version"], capture_output=True, text=True, check=False
    )
    major = told.stdout.strip().lstrip("v").split(".")[0]
    return node if major.isdigit() and int(major) >= OLDEST_NODE else None


def _lock_digest() -> str:
    """Sum up the lock and this recipe: when either changes, it is done again."""
    lock = (CHECKOUT / "package-lock.json").read_bytes()
    return hashlib.sha256(lock + Path(__file__).read_bytes()).hexdigest()


def _stamped(stamp: Path) -> bool:
    return stamp.exists() and stamp.read_text(encoding="utf-8") == _lock_digest()


def _stamp(stamp: Path) -> None:
    stamp.write_text(_lock_digest(), encoding="utf-8")


def _copy_libraries(modules: Path = MODULES) -> bool:
    """Copy the libraries out of a filled node_modules; False when it is not ours."""
    if modules == MODULES and not _stamped(MODULES / ".installed.txt"):
        return False
    VENDOR.mkdir(parents=True, exist_ok=True)
    for name, source in LIBRARIES.items():
        text = (modules / source).read_bytes()
        (VENDOR / name).write_bytes(SOURCE_MAP.sub(b"", text))
    return True


def _npm_ci(place: Path, path: str, *options: str) -> None:
    """Install exactly what the lock names, running none of the packages' scripts."""
    if place != CHECKOUT:
        for name in ("package.json", "package-lock.json", ".npmrc"):
            shutil.copyfile(CHECKOUT / name, place / name)
    env = {**os.environ, "PATH": path}
    npm = shutil.which("npm", path=path) or "npm"
    words = [npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund", *options]
    done = subprocess.run(  # noqa: S603 - npm with fixed words
        words, cwd=place, env=env, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise FrontEndMissing(
            "npm could not bring the browser libraries. When the network was at fault "
            f"start the same command again. It said:\n{done.stderr.strip()[-2000:]}"
        )


@contextmanager
def node(keep_in: Path | None = None) -> Iterator[str]:
    """Give a PATH with Node and npm: the system's, else one borrowed from PyPI.

    The borrowed one lives in a throw-away folder, or stays in `keep_in`.
    """
    path = os.environ.get("PATH", os.defpath)
    if node_on_path():
        yield path
        return
    with tempfile.TemporaryDirectory() as place:
        programs = (keep_in or Path(place)) / "bin"
        if not (programs / "npm").exists():
            _borrow_node(programs.parent)
        yield f"{programs}{os.pathsep}{path}"


def _borrow_node(place: Path) -> None:
    """Install Node into an environment of its own."""
    print("No Node 20 here: borrowing one.", flush=True)  # noqa: T201
    make = [sys.executable, "-m", "venv", str(place)]
    fill = [str(place / "bin" / "python"), *PIP_INSTALL, "-r", str(NODE_LOCK)]
    for step in (make, fill):
        if subprocess.run(step, check=False).returncode:  # noqa: S603 - fixed words
            raise FrontEndMissing(
                "The browser libraries need Node for a moment and none could be "
                "brought. Install Node 20 or newer, then start the command again."
            )
