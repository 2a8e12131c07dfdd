"""The darkroom: a child process, fenced in, where strangers' files are decoded.

A decoder that crashes, hangs or swells ends the child and not the worker. Values go in
as JSON on standard input and come back as JSON on standard output:

    {"job": "develop", "values": {...}}  ->  {"done": {...}} or {"refused": [...]}
"""

import json
import logging
import os
import resource
import subprocess
import sys
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from django.conf import settings

from board import errors
from board.repro.intake import Developed, Examined
from board.repro.laying import Laid
from board.repro.sheets import Matrix, SheetSize
from board.repro.store import new_picture

log = logging.getLogger(__name__)

MIB = 1 << 20
TOO_HEAVY = (
    "The picture could not be opened safely: decoding it took too much {what}. "
    "Save it again flattened, as a TIFF or JPEG, and send that."
)
CRASHED = (
    "The picture could not be opened: the file is damaged in a way that stops the "
    "decoder. Save a new copy and send that."
)


@dataclass(frozen=True)
class Limits:
    """What one job may use; `memory` counts what it writes to, not mapped files."""

    memory: int = 1400 * MIB
    cpu_s: int = 120
    wall_s: int = 180
    file: int = 1200 * MIB


def run_limited(job: str, values: dict[str, Any], limits: Limits) -> dict[str, Any]:
    """Run one job of `JOBS` in a fenced child and give what it says.

    Parameters
    ----------
    job : a name in `board.repro.darkroom_jobs.JOBS`.
    values : what the job takes, as JSON knows it.
    limits : memory and file size in bytes, times in seconds.

    Raises
    ------
    PictureRefused, TooLarge, NotUnderstood
        as the job said, or because the child crashed or went over a limit.
    """
    order = json.dumps({"job": job, "values": values, "limits": asdict(limits)})
    command = [sys.executable, "-m", "board.repro.darkroom_jobs"]
    try:
        # The command is ours alone: no word of it comes from outside.
        child = subprocess.run(  # noqa: S603
            command,
            input=order.encode(),
            capture_output=True,
            timeout=limits.wall_s,
            check=False,
            cwd=Path(__file__).parents[2],
            env=_bare_environment(),
        )
    except subprocess.TimeoutExpired as cause:
        raise errors.PictureRefused(TOO_HEAVY.format(what="time")) from cause
    return _answer(child.returncode, child.stdout, child.stderr)


def _bare_environment() -> dict[str, str]:
    """Give the child what Python needs and no secret, address or password."""
    kept = {
        name: os.environ[name]
        for name in ("PATH", "HOME", "LANG", "LC_ALL", "TMPDIR", "LD_LIBRARY_PATH")
        if name in os.environ
    }
    return {**kept, "VIPS_CONCURRENCY": "2", "VIPS_WARNING": "0", "PYTHONUTF8": "1"}


def _answer(code: int, out: bytes, err: bytes) -> dict[str, Any]:
    try:
        said: dict[str, Any] = json.loads(out) if code == 0 else {}
    except ValueError:
        said = {}
    if "done" in said:
        return dict(said["done"])
    if "refused" in said:
        kind, *sentences = said["refused"]
        refusal = getattr(errors, kind, errors.PictureRefused)
        raise refusal(*sentences)
    if _was_fenced(code, err):
        what = "time" if code in {-24, -9} and b"MemoryError" not in err else "memory"
        raise errors.PictureRefused(TOO_HEAVY.format(what=what))
    log.warning(
        "darkroom ended with %s: %s", code, err[-2000:].decode(errors="replace")
    )
    raise errors.PictureRefused(CRASHED)


def _was_fenced(code: int, err: bytes) -> bool:
    swelled = (b"MemoryError", b"out of memory", b"bad_alloc", b"Cannot allocate")
    return code in {-24, -25, -9} or any(words in err for words in swelled)


def fence(limits: Limits) -> None:
    """Bind the running process to its limits; what a system lacks is left out."""
    _limit(resource.RLIMIT_DATA, limits.memory)
    _limit(resource.RLIMIT_CPU, limits.cpu_s)
    _limit(resource.RLIMIT_FSIZE, limits.file)
    _limit(resource.RLIMIT_CORE, 0)
    _limit(resource.RLIMIT_NOFILE, 256)


def _limit(kind: int, value: int) -> None:
    _soft, hard = resource.getrlimit(kind)
    top = value if hard == resource.RLIM_INFINITY else min(value, hard)
    try:
        resource.setrlimit(kind, (top, hard))
    except (OSError, ValueError):  # macOS refuses some of them
        return


def limits_for_settings() -> Limits:
    """Give limits wide enough for the largest picture the settings let in."""
    pixels = int(settings.BOARD_MAX_PIXELS)
    return Limits(file=max(int(settings.BOARD_MAX_BYTES), 3 * pixels) + 64 * MIB)


def _taken() -> dict[str, int]:
    return {
        "max_bytes": int(settings.BOARD_MAX_BYTES),
        "max_pixels": int(settings.BOARD_MAX_PIXELS),
    }


def examine_apart(path: Path, filename: str) -> Examined:
    """Do `intake.examine` in the darkroom."""
    values = {"path": str(path), "filename": filename, **_taken()}
    small = Limits(memory=400 * MIB, cpu_s=20, wall_s=40, file=1 * MIB)
    return Examined(**run_limited("examine", values, small))


def develop_apart(path: Path, out: Path, filename: str) -> Developed:
    """Do `developing.develop` in the darkroom."""
    out.parent.mkdir(parents=True, exist_ok=True)
    values = {"path": str(path), "out": str(out), "filename": filename, **_taken()}
    done = run_limited("develop", values, limits_for_settings())
    return Developed(
        path=done["path"],
        width=done["width"],
        height=done["height"],
        noted=tuple(done["noted"]),
    )


def lay_apart(picture: Path, key: str, matrix: Matrix, sheet: SheetSize) -> Laid:
    """Do `laying.lay` in the darkroom; the folder appears whole under `key`."""
    rows = [[float(number) for number in row] for row in matrix]
    with new_picture(key) as folder:
        values = {
            "picture": str(picture),
            "matrix": rows,
            "sheet": asdict(sheet),
            "folder": str(folder),
        }
        done = run_limited("lay", values, limits_for_settings())
    return Laid(**done)
