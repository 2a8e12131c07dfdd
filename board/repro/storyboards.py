"""A storyboard sheet's file in, the frames on it out."""

from pathlib import Path
from typing import Any

from board.imaging.storyboard.cutting import Cut, Frame, cut
from board.repro.comparing import copy_of
from board.repro.intake import Pixels

__all__ = ["Cut", "Frame", "as_json", "cut_copy", "cut_file"]


def cut_file(sheet: Path) -> Cut:
    """Find the frames on a sheet.

    Returns
    -------
    Cut; corners in pixels of the sheet as seen upright.

    Raises
    ------
    PictureRefused, TooLarge
    """
    copy, size = copy_of(sheet)
    return cut_copy(copy, size)


def cut_copy(copy: Pixels, size: tuple[int, int]) -> Cut:
    """Find the frames on a working copy; corners in pixels of the sheet's own size."""
    found = cut(copy)
    scale = (size[0] / copy.shape[1], size[1] / copy.shape[0])
    frames = [Frame(one.corners * scale, one.confidence) for one in found.frames]
    return Cut(frames, found.sure, found.doubts)


def as_json(found: Cut) -> dict[str, Any]:
    """Say it as the command writes it: frames in reading order, and whether to ask."""
    return {
        "frames": [
            {
                "corners": [
                    [round(float(v), 1) for v in corner] for corner in one.corners
                ],
                "confidence": round(min(1.0, max(0.0, one.confidence)), 3),
            }
            for one in found.frames
        ],
        "sure": found.sure,
        "doubts": list(found.doubts),
    }
