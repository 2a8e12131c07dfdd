"""Pictures for the tests of repro, drawn here and now."""

import io
import struct
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pyvips
from PIL import Image, ImageCms

Pixels = npt.NDArray[np.uint8]


def quarters(width: int = 240, height: int = 160) -> Pixels:
    """Four flat quarters: red, green, blue, grey; anything turned shows at once."""
    art = np.empty((height, width, 3), np.uint8)
    half_h, half_w = height // 2, width // 2
    art[:half_h, :half_w] = (200, 40, 40)
    art[:half_h, half_w:] = (40, 160, 60)
    art[half_h:, :half_w] = (50, 60, 190)
    art[half_h:, half_w:] = (128, 128, 128)
    return art


def painted(width: int, height: int, seed: int = 1) -> Pixels:
    """A soft many-coloured field with grain, like paper under a scanner."""
    rng = np.random.default_rng(seed)
    small = rng.integers(30, 235, (max(2, height // 32), max(2, width // 32), 3))
    soft = Image.fromarray(small.astype(np.uint8)).resize(
        (width, height), Image.Resampling.BICUBIC
    )
    grain = rng.integers(-5, 6, (height, width, 1))
    grown = np.asarray(soft).astype(np.int16) + grain
    return np.asarray(np.clip(grown, 0, 255), np.uint8)


def jpeg(art: Pixels, **save: Any) -> bytes:
    return saved(Image.fromarray(art), "JPEG", quality=95, subsampling=0, **save)


def saved(image: Image.Image, kind: str, **save: Any) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **save)
    return out.getvalue()


def put(folder: Path, name: str, body: bytes) -> Path:
    path = folder / name
    path.write_bytes(body)
    return path


def srgb_profile() -> bytes:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def exif(*, orientation: int = 1, place: bool = False) -> bytes:
    tags = Image.Exif()
    tags[0x0112] = orientation
    if place:
        gps = tags.get_ifd(0x8825)
        gps[1], gps[2] = "N", (51.0, 30.0, 0.0)
        gps[29] = "2031:03:04"
    return tags.tobytes()


def psd(
    planes: npt.NDArray[Any], *, mode: int = 3, bits: int = 8, merged: bool = True
) -> bytes:
    """A flat PSD by the published layout: header, resources, one raw merged picture.

    `planes` has the shape (channels, rows, columns); CMYK ink is stored inverted, as
    the format asks.
    """
    channels, height, width = planes.shape
    head = b"8BPS" + struct.pack(">H6xHIIHH", 1, channels, height, width, bits, mode)
    told = struct.pack(">IB", 1, int(merged)) + b"\0" * 12 + struct.pack(">I", 1)
    told += b"\0" * (len(told) % 2)
    resource = b"8BIM" + struct.pack(">HHI", 1057, 0, len(told)) + told
    parts = struct.pack(">I", 0) + struct.pack(">I", len(resource)) + resource
    parts += struct.pack(">I", 0) + struct.pack(">H", 0)
    return head + parts + planes.astype(f">u{bits // 8}").tobytes()


def developed(path: Path, art: Pixels) -> Path:
    """A developed picture of exactly these pixels."""
    image = pyvips.Image.new_from_array(art).copy(interpretation="srgb")
    image.vipssave(str(path), keep="none")
    return path
