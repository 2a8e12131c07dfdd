"""Pictures that are developed but not laid yet, and a glimpse of them for laying.

A developed picture is big and made again in seconds, so it is kept only until it is
laid; its glimpse lets a person tap corners and pairs on it.
"""

from pathlib import Path

from board.errors import PictureRefused
from board.repro import store
from board.repro.intake import (
    Developed,
    Pixels,
    developed_pixels,
    working_copy,
    working_copy_of,
)
from board.repro.laying import PRINTED, WORKING, preview

GLIMPSE = "medium.jpg"
GLIMPSE_WIDTH, GLIMPSE_BYTES = 1600, 400_000


def developed_path(key: str) -> Path:
    """Give the place of a developed picture, there or not."""
    store.picture_folder(key)  # a key that is no key stops here
    return store.data_folder() / "developed" / f"{key}.v"


def developed_already(key: str) -> Developed | None:
    """Give a developed picture that an earlier attempt left whole."""
    path = developed_path(key)
    if not path.exists():
        return None
    try:
        height, width = developed_pixels(path).shape[:2]
    except PictureRefused:  # cut short where the power went: it is developed again
        path.unlink()
        return None
    return Developed(str(path), width, height)


def drop_developed(key: str) -> None:
    developed_path(key).unlink(missing_ok=True)


def glimpse_key(key: str) -> str:
    """Name the picture folder that holds the glimpse of an unlaid picture."""
    return f"{key}-glimpse"


def keep_glimpse(key: str) -> Pixels:
    """Write the glimpse of a developed picture; gives its working copy."""
    copy = working_copy(developed_path(key), WORKING)
    with store.new_picture(glimpse_key(key)) as folder:
        body = preview(copy, width=GLIMPSE_WIDTH, most_bytes=GLIMPSE_BYTES)
        (folder / GLIMPSE).write_bytes(body)
    return copy


def drop_glimpse(key: str) -> None:
    store.drop_picture(glimpse_key(key))


def laid_working(picture: str) -> Pixels:
    """Read the lossless working copy of a laid picture.

    Returns
    -------
    uint8 array of shape (rows, columns, 3), sRGB.

    Raises
    ------
    NotFound
        when the laid picture is gone.
    """
    return working_copy_of(store.picture_folder(picture) / "working.png")


def medium_path(picture: str) -> Path | None:
    """Give the place of a laid picture's 1,200 px JPEG, or None when it is gone."""
    path = store.picture_folder(picture) / PRINTED
    return path if path.exists() else None
