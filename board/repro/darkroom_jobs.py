"""What runs inside the darkroom: `python -m board.repro.darkroom_jobs`."""

import json
import sys
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

import cv2
from django.conf import settings

from board.errors import BoardError
from board.repro.darkroom import Limits, fence
from board.repro.developing import develop
from board.repro.intake import examine
from board.repro.laying import lay
from board.repro.pressing import press_job
from board.repro.profiles import read_profile
from board.repro.sheets import SheetSize, as_matrix

Values = dict[str, Any]


def _examine(path: str, filename: str, max_bytes: int, max_pixels: int) -> Values:
    seen = examine(Path(path), filename, max_bytes=max_bytes, max_pixels=max_pixels)
    return asdict(seen)


def _develop(path: str, out: str, **sizes: Any) -> Values:
    return asdict(develop(Path(path), Path(out), **sizes))


def _lay(picture: str, matrix: Any, sheet: Values, folder: str) -> Values:
    onto = as_matrix(matrix)
    return asdict(lay(Path(picture), onto, SheetSize(**sheet), Path(folder)))


def _read_profile(path: str) -> Values:
    return {"name": read_profile(Path(path))}


JOBS: dict[str, Callable[..., Values]] = {
    "examine": _examine,
    "develop": _develop,
    "lay": _lay,
    "press": press_job,
    "read_profile": _read_profile,
}


def main() -> None:
    """Read one order, do it inside its limits, write one answer."""
    order = json.load(sys.stdin)
    fence(Limits(**order["limits"]))
    settings.configure()  # the child needs no setting and must not read a secret
    cv2.setNumThreads(2)
    try:
        answer: Values = {"done": JOBS[order["job"]](**order["values"])}
    except BoardError as refused:
        answer = {"refused": [type(refused).__name__, refused.says, *refused.reasons]}
    json.dump(answer, sys.stdout)


if __name__ == "__main__":
    main()
