"""A clipping's file and the art's file in, where the one lies in the other out."""

from pathlib import Path
from typing import Any

from board.imaging.clipping import Found, find_clipping
from board.repro.comparing import copy_of

__all__ = ["Found", "as_json", "seek_files"]


def seek_files(clipping: Path, art: Path) -> Found:
    """Look for the clipping in the art; raises PictureRefused for what is no picture."""
    return find_clipping(copy_of(clipping)[0], copy_of(art)[0])


def as_json(found: Found) -> dict[str, Any]:
    """Say it as the command writes it: found, confidence, bbox in fractions of the art."""
    told: dict[str, Any] = {
        "found": found.found,
        "confidence": round(found.confidence, 3),
    }
    if found.found and found.box is not None:
        told["bbox"] = [round(side, 5) for side in found.box]
    return told
