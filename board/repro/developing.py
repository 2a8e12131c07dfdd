"""Developing: any picture the board takes becomes upright 8-bit sRGB on white."""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pyvips
from PIL import ImageCms

from board.errors import DiskNearlyFull, PictureRefused
from board.repro import loading
from board.repro.intake import Developed, Pixels
from board.repro.loading import PROFILE, Overlooked
from board.repro.store import whole_file

DEPTH = {"uchar": 255, "ushort": 65535}
# ICC.1 (the profile format), header bytes 16 to 19: the colour space of the data.
SPACES = {1: b"GRAY", 3: b"RGB ", 4: b"CMYK"}
IGNORED_PROFILE = (
    "The colour profile inside the file could not be used, so its colours are "
    "taken as plain {kind}."
)
TOO_WIDE = (
    "The picture is larger than the board can develop. Send it at a lower resolution."
)
NO_CMYK_PROFILE = (
    "The file is CMYK without a profile, so its colours on the screen are a guess."
)


def develop(
    path: Path, out: Path, *, filename: str, max_bytes: int, max_pixels: int
) -> Developed:
    """Turn a picture upright, into sRGB, to 8 bits a channel and flat on white.

    Parameters
    ----------
    path : the original; it is only read.
    out : where the developed picture goes (a `.v` file, see `intake`); it appears
        whole or not at all.
    filename, max_bytes, max_pixels : as for `intake.examine`.

    Raises
    ------
    PictureRefused, TooLarge
    """
    allowed = {"max_bytes": max_bytes, "max_pixels": max_pixels}
    with (
        _opened(path, filename, **allowed) as (plain, noted),
        whole_file(out, synced=False) as fresh,
    ):
        plain.vipssave(str(fresh), keep="none")
    return Developed(str(out), plain.width, plain.height, tuple(noted))


def develop_small(
    path: Path, longest: int, *, max_bytes: int, max_pixels: int
) -> tuple[Pixels, tuple[int, int]]:
    """Develop straight into a copy for measuring, without the whole picture on disk.

    Places are counted as on `intake.working_copy`.

    Returns
    -------
    uint8 array (rows, columns, 3), neither side over `longest`, and the (width, height)
    of the whole developed picture.

    Raises
    ------
    PictureRefused, TooLarge
    """
    allowed = {"max_bytes": max_bytes, "max_pixels": max_pixels}
    with _opened(path, path.name, **allowed) as (plain, _):
        wide, high = plain.width, plain.height
        scale = min(1.0, longest / max(wide, high))
        size = (max(1, round(wide * scale)), max(1, round(high * scale)))
        if scale == 1:
            return plain.numpy(), (wide, high)
        across, down = size[0] / wide, size[1] / high
        small = plain.resize(across, vscale=down, kernel="linear")
        return small.numpy(), (wide, high)


@contextmanager
def _opened(
    path: Path, filename: str, *, max_bytes: int, max_pixels: int
) -> Iterator[tuple[pyvips.Image, list[str]]]:
    """Lend the picture as it will be developed, and what people should know of it."""
    seen = loading.look_over(path, filename, max_bytes=max_bytes)
    loading.require_size(seen.width, seen.height, max_pixels=max_pixels)
    image = loading.open_picture(path, seen)
    try:
        yield _flatten(image, seen)
    except pyvips.Error as cause:
        if "No space left" in str(cause):
            raise DiskNearlyFull from cause
        if "File too large" in str(cause):
            raise PictureRefused(TOO_WIDE) from cause
        raise loading.damaged(seen.format) from cause


def _flatten(image: pyvips.Image, seen: Overlooked) -> tuple[pyvips.Image, list[str]]:
    colours = loading.colour_bands(image)
    colour = image.extract_band(0, n=colours) if image.bands > colours else image
    if not seen.has_alpha:
        return to_srgb(colour)
    top = DEPTH[str(image.format)]
    alpha = image[colours] / top
    rgb, noted = to_srgb(colour)
    # Associated alpha is fine too: libvips divides it out while loading a TIFF.
    on_white = rgb * alpha + (1 - alpha) * 255
    return on_white.rint().cast("uchar").copy(interpretation="srgb"), noted


def to_srgb(colour: pyvips.Image) -> tuple[pyvips.Image, list[str]]:
    """Convert colour bands to 8-bit sRGB; gives what people should know of it.

    By the embedded profile where there is one that fits, relative colorimetric with
    black point compensation; else grey and RGB are taken as sRGB and CMYK goes
    through libvips' own press profile.
    """
    noted: list[str] = []
    kind = str(colour.interpretation)
    if colour.get_typeof(PROFILE):
        if _fits(colour.get(PROFILE), colour.bands):
            return _through_profile(colour), noted
        noted = [IGNORED_PROFILE.format(kind="CMYK" if kind == "cmyk" else "sRGB")]
    if kind == "cmyk":
        noted = noted or [NO_CMYK_PROFILE]
        return _icc(colour, input_profile="cmyk"), noted
    if kind in {"lab", "labs", "labq"}:
        return colour.colourspace("srgb"), noted
    return _three(_eight_bits(colour)), noted


def _fits(profile: bytes, bands: int) -> bool:
    """Tell whether a profile can be read and speaks of this many channels."""
    if profile[16:20] != SPACES.get(bands):
        return False
    try:
        return bool(ImageCms.ImageCmsProfile(io.BytesIO(profile)))
    except (OSError, ImageCms.PyCMSError):
        return False


def _eight_bits(colour: pyvips.Image) -> pyvips.Image:
    """Reduce 16 bits to 8 by rounding, so that 65535 is 255 and 128 * 257 is 128."""
    top = DEPTH.get(str(colour.format))
    if top is None:
        raise PictureRefused(
            "The picture's numbers are of a kind the board cannot show. "
            "Save it with 8 or 16 bits a channel and send that."
        )
    return colour if top == 255 else (colour * (255 / top)).rint().cast("uchar")


def _three(grey_or_rgb: pyvips.Image) -> pyvips.Image:
    if grey_or_rgb.bands == 1:
        grey_or_rgb = grey_or_rgb.bandjoin([grey_or_rgb, grey_or_rgb])
    return grey_or_rgb.copy(interpretation="srgb")


def _through_profile(colour: pyvips.Image) -> pyvips.Image:
    if str(colour.format) == "uchar" and colour.bands == 3 and _is_srgb(colour):
        return colour.copy(interpretation="srgb")
    return _three(_icc(colour, embedded=True))


def _icc(colour: pyvips.Image, **how: object) -> pyvips.Image:
    return colour.icc_transform(
        "srgb", intent="relative", black_point_compensation=True, depth=8, **how
    )


def _is_srgb(colour: pyvips.Image) -> bool:
    """Tell whether the profile leaves a cube of 17 x 17 x 17 colours as they are.

    Most pictures carry sRGB itself; not converting those saves a second on a big one
    and keeps them exact.
    """
    steps = np.linspace(0, 255, 17).round().astype(np.uint8)
    cube = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(17, 289, 3)
    patches = pyvips.Image.new_from_array(np.ascontiguousarray(cube))
    patches = patches.copy(interpretation="srgb")
    patches = loading.with_profile(patches, colour.get(PROFILE))
    moved = _icc(patches, embedded=True).numpy().astype(np.int16)
    return moved.shape == cube.shape and int(np.abs(moved - cube).max()) <= 1
