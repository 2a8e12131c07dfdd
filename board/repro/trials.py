"""One file from anywhere laid on a sheet for trial and measured before the press."""

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from django.conf import settings

from board.errors import NotUnderstood
from board.repro import developing, intake, pairs
from board.repro.comparing import register_pictures
from board.repro.intake import Examined
from board.repro.laying import WORKING, lay
from board.repro.pairs import Placed
from board.repro.pressing import Order, measure
from board.repro.profiles import read_profile, require_header
from board.repro.sheets import SheetSize

__all__ = ["HowLaid", "Trial", "read_press", "try_file"]

NOT_LAID = "It could not be laid on {name}: {why}"


@dataclass(frozen=True)
class HowLaid:
    """How the file lies: by its word, by the trim's corners, or on another file.

    `word` is "bled" or "trimmed" and is said of the other file when there is one;
    `corners` are fractions of the picture, clockwise from the top left.
    """

    word: str = "bled"
    corners: tuple[tuple[float, float], ...] = ()
    on: Path | None = None
    across_manners: bool = False


@dataclass(frozen=True)
class Trial:
    """A file that is developed and laid: `laid` is the folder of its laid picture."""

    laid: Path
    size: tuple[int, int]
    seen: Examined
    placed: Placed
    declared: str

    def measured(self, order: Order, maps: Path | None) -> dict[str, Any]:
        """Everything that `pressing.measure` gives, and what the headers say."""
        whole = replace(order, matrix=self.placed.matrix.tolist(), picture=self.size)
        return {
            **measure(self.laid, whole, folder=maps),
            "file": self.seen.as_dict(),
        }


def _taken() -> dict[str, int]:
    return {
        "max_bytes": int(settings.BOARD_MAX_BYTES),
        "max_pixels": int(settings.BOARD_MAX_PIXELS),
    }


def try_file(path: Path, how: HowLaid, sheet: SheetSize, folder: Path) -> Trial:
    """Develop a file and lay it as the board would.

    Parameters
    ----------
    path : a picture of any kind that the board takes in.
    how : how it lies on the sheet.
    folder : an empty folder for what is made on the way.

    Raises
    ------
    PictureRefused, TooLarge, NotUnderstood
    """
    seen = intake.examine(path, path.name, **_taken())
    fresh = folder / "developed.v"
    done = developing.develop(path, fresh, filename=path.name, **_taken())
    size = (done.width, done.height)
    placed, declared = _placed(fresh, size, how, sheet)
    laid = folder / "laid"
    laid.mkdir()
    lay(fresh, placed.matrix, sheet, laid)
    return Trial(laid, size, seen, placed, declared)


def _placed(
    fresh: Path, size: tuple[int, int], how: HowLaid, sheet: SheetSize
) -> tuple[Placed, str]:
    if how.on is not None:
        return _upon(fresh, size, how, sheet), "registered"
    if how.corners:
        here = np.array(how.corners, np.float64)
        return pairs.by_corners(size, here, sheet), "corners"
    return pairs.by_word(size, sheet, bled=how.word == "bled"), how.word


def _upon(fresh: Path, size: tuple[int, int], how: HowLaid, sheet: SheetSize) -> Placed:
    """Lay by registration on the other file, as a later revision lies on the first."""
    assert how.on is not None  # noqa: S101  # the caller looked
    with tempfile.TemporaryDirectory(prefix="board-trial-") as folder:
        first = try_file(how.on, HowLaid(how.word), sheet, Path(folder))
        under = intake.working_copy_of(first.laid / "working.png")
    copy = intake.working_copy(fresh, WORKING)
    found = register_pictures(copy, under, across_manners=how.across_manners)
    if found.matrix is None:
        raise NotUnderstood(NOT_LAID.format(name=how.on.name, why=found.reason))
    older_copy = (under.shape[1], under.shape[0])
    matrix = pairs.upon(
        found.matrix,
        newer=size,
        newer_copy=(copy.shape[1], copy.shape[0]),
        older_copy=older_copy,
        sheet=sheet,
    )
    bar = found.error_bar * float(np.hypot(*older_copy))
    error = float(
        np.hypot(bar * pairs.mm_per_pixel(older_copy, sheet), first.placed.error_bar_mm)
    )
    return Placed(matrix, error)


def read_press(path: Path) -> str:
    """Look a press profile over and give the name inside it."""
    require_header(path.read_bytes())
    return read_profile(path)
