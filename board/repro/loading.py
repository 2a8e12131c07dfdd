"""Opening a picture with the one decoder its first bytes call for."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pillow_heif
import pyvips
from PIL import Image, UnidentifiedImageError

from board.errors import PictureRefused, TooLarge
from board.repro import tiffs
from board.repro.sniffing import HEAD, sniff

SMALLEST_SIDE = 16
PROFILE = "icc-profile-data"
LOADERS = {"JPEG": "jpegload", "PNG": "pngload", "WEBP": "webpload", "TIFF": "tiffload"}
PSD_MODES = {1: "L", 3: "RGB", 4: "CMYK"}
PSD_VERSION_INFO = 1057
# What the decoders of Pillow and pillow-heif raise on a damaged file.
BROKEN = (
    OSError, ValueError, SyntaxError, EOFError, IndexError, KeyError, TypeError,
    RuntimeError, OverflowError, MemoryError, UnidentifiedImageError,
)  # fmt: skip


@dataclass(frozen=True)
class Overlooked:
    """What the headers say, sizes as stored (before turning upright)."""

    format: str
    width: int
    height: int
    mode: str
    bits: int
    has_profile: bool
    orientation: int
    has_alpha: bool = False


def look_over(path: Path, filename: str, *, max_bytes: int) -> Overlooked:
    """Read what the headers say.

    Raises
    ------
    PictureRefused, TooLarge
    """
    size = path.stat().st_size
    if size > max_bytes:
        raise TooLarge(
            f"The file has {size / 1e6:,.0f} MB; the board takes up to "
            f"{max_bytes / 1e6:,.0f} MB. Send it flattened or compressed."
        )
    with path.open("rb") as file:
        found = sniff(file.read(HEAD), filename)
    if found == "PSD":
        return _look_psd(path)
    if found == "HEIC":
        return _look_heic(path)
    return _look_vips(path, found)


def require_size(width: int, height: int, *, max_pixels: int) -> None:
    """Raise TooLarge or PictureRefused when the picture cannot be a revision."""
    if width * height > max_pixels:
        raise TooLarge(
            f"The picture has {width:,} x {height:,} pixels; the board takes up to "
            f"{max_pixels / 1e6:,.0f} million in all. Send it at a lower resolution."
        )
    if min(width, height) < SMALLEST_SIDE:
        raise PictureRefused(
            f"The picture has only {width} x {height} pixels. "
            "Send the full-size picture, not its thumbnail."
        )


def damaged(found: str) -> PictureRefused:
    return PictureRefused(
        f"The {found} file is damaged or breaks off before its end. "
        "Look whether it opens, save a new copy and send that."
    )


def open_picture(path: Path, seen: Overlooked) -> pyvips.Image:
    """Open the picture, lazily where the decoder can; it is turned upright.

    Raises
    ------
    PictureRefused
        here or, for a lazy decoder, `pyvips.Error` when the pixels are read.
    """
    if seen.format == "PSD":
        return _open_psd(path)
    if seen.format == "HEIC":
        return _open_heic(path)
    access = "sequential" if seen.orientation == 1 else "random"
    try:
        image = _vips(path, seen.format, access)
        return image.autorot() if seen.orientation > 1 else image
    except pyvips.Error as cause:
        raise damaged(seen.format) from cause


def _vips(path: Path, found: str, access: str) -> pyvips.Image:
    load = getattr(pyvips.Image, LOADERS[found])
    return load(str(path), access=access, fail_on="error", revalidate=True)


def _look_vips(path: Path, found: str) -> Overlooked:
    extra = _tiff_extra(path) if found == "TIFF" else None
    try:
        image = _vips(path, found, "sequential")
    except pyvips.Error as cause:
        raise damaged(found) from cause
    fields = set(image.get_fields())
    if found == "WEBP" and "n-pages" in fields and image.get("n-pages") > 1:
        raise PictureRefused("This picture moves. Send the one frame that is meant.")
    bits = {"uchar": 8, "ushort": 16, "short": 16}.get(str(image.format))
    if bits is None:
        raise PictureRefused(
            "The picture holds 32-bit numbers, which cannot be shown as they are. "
            "Save it with 8 or 16 bits a channel and send that."
        )
    colours = colour_bands(image)
    return Overlooked(
        format=found,
        width=image.width,
        height=image.height,
        mode=str(image.interpretation),
        bits=bits,
        has_profile=PROFILE in fields,
        orientation=int(image.get("orientation")) if "orientation" in fields else 1,
        has_alpha=image.bands > colours and extra != 0,
    )


def colour_bands(image: pyvips.Image) -> int:
    """Give how many of the bands are colour; what follows is alpha or something else."""
    if str(image.interpretation) == "cmyk":
        return 4
    return 1 if image.bands < 3 else 3


def _tiff_extra(path: Path) -> int:
    """Give the kind of the first extra channel; 0 is none, or not transparency."""
    pages = tiffs.directories(path, tiffs.LAYOUT)
    # Bit 0 marks a reduced copy, bit 2 a mask: neither is a page of its own.
    whole = [
        page for page in pages if not page.get(tiffs.NEW_SUBFILE_TYPE, (0,))[0] & 5
    ]
    if len(whole) > 1:
        raise PictureRefused(
            f"The TIFF holds {len(whole)} pages. Save each spread as a file of its own."
        )
    # libtiff reads a cut file without complaint, so its end is looked for here.
    if any(tiffs.end_of(page) > path.stat().st_size for page in pages[:1]):
        raise damaged("TIFF")
    return pages[0].get(tiffs.EXTRA_SAMPLES, (0,))[0] if pages else 0


def _look_psd(path: Path) -> Overlooked:
    with path.open("rb") as file:
        head = file.read(26)
    if len(head) < 26:
        raise damaged("PSD")
    height, width = (int.from_bytes(head[at : at + 4], "big") for at in (14, 18))
    bits, mode = (int.from_bytes(head[at : at + 2], "big") for at in (22, 24))
    if bits != 8 or mode not in PSD_MODES:
        raise PictureRefused(
            "The board reads PSD files in RGB, CMYK or grey with 8 bits a channel. "
            "Flatten this one, save it as TIFF and send that."
        )
    with _psd(path) as image:
        has_profile = "icc_profile" in image.info
    return Overlooked(
        format="PSD",
        width=width,
        height=height,
        mode={"L": "b-w", "RGB": "srgb", "CMYK": "cmyk"}[PSD_MODES[mode]],
        bits=bits,
        has_profile=has_profile,
        orientation=1,
    )


@contextmanager
def _psd(path: Path) -> Iterator[Any]:  # Pillow's plug-in class carries no types
    Image.MAX_IMAGE_PIXELS = None  # ours is checked on the header above
    try:
        with Image.open(path, formats=["PSD"]) as image:
            resources = image.resources  # type: ignore[attr-defined]  # the plug-in's
            flat = {number: body for number, _name, body in resources}
            told = flat.get(PSD_VERSION_INFO, b"")
            if len(told) > 4 and not told[4]:
                raise PictureRefused(
                    "The PSD was saved without its flattened picture. Save it again "
                    "with compatibility set to its largest, or send a TIFF."
                )
            yield image
    except BROKEN as cause:
        raise damaged("PSD") from cause


def _open_psd(path: Path) -> pyvips.Image:
    with _psd(path) as image:
        image.load()
        profile = image.info.get("icc_profile")
        # The flattened picture already lies on white; its fourth channel is dropped.
        flat = image.convert("RGB") if image.mode == "RGBA" else image
        return _from_array(np.asarray(flat), profile, cmyk=flat.mode == "CMYK")


@contextmanager
def _heic(path: Path) -> Iterator[Any]:  # pillow-heif's class has properties that raise
    Image.MAX_IMAGE_PIXELS = None
    try:
        yield pillow_heif.open_heif(path, convert_hdr_to_8bit=True)
    except BROKEN as cause:
        raise damaged("HEIC") from cause


def _look_heic(path: Path) -> Overlooked:
    with _heic(path) as image:
        return Overlooked(
            format="HEIC",
            width=image.size[0],
            height=image.size[1],
            mode="b-w" if image.mode == "L" else "srgb",
            bits=8,
            has_profile=bool(image.info.get("icc_profile")),
            orientation=1,  # the decoder turns it upright by the file's own rotation
            has_alpha=image.mode.endswith("A"),
        )


def _open_heic(path: Path) -> pyvips.Image:
    with _heic(path) as image:
        pixels = np.asarray(image)
        return _from_array(pixels, image.info.get("icc_profile"), cmyk=False)


def _from_array(pixels: Any, profile: bytes | None, *, cmyk: bool) -> pyvips.Image:
    image = pyvips.Image.new_from_array(np.ascontiguousarray(pixels))
    kind = "cmyk" if cmyk else ("b-w" if image.bands < 3 else "srgb")
    image = image.copy(interpretation=kind)
    return with_profile(image, profile) if profile else image


def with_profile(image: pyvips.Image, profile: bytes) -> pyvips.Image:
    own = image.copy()  # what is shared must not be written to
    own.set_type(pyvips.GValue.blob_type, PROFILE, profile)
    return own
