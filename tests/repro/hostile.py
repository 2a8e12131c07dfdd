"""Damaged files by the hundred, in a process of their own: `python -m ... FOLDER N`.

Prints one JSON object: how many were developed, how many refused, and every outcome
that is neither. A decoder that crashes ends this process, and the test sees that.
"""

import json
import sys
from pathlib import Path

import numpy as np
import pillow_heif
import tifffile
from PIL import Image

from board.errors import BoardError
from board.repro.developing import develop
from board.repro.intake import developed_pixels
from tests.repro import pictures

SIZES = {"max_bytes": 5_000_000, "max_pixels": 1_000_000}


def samples(folder: Path) -> dict[str, bytes]:
    """One sound file of each kind, by name."""
    art = pictures.painted(120, 80)
    image = Image.fromarray(art)
    profile = pictures.srgb_profile()
    exif = pictures.exif(orientation=6, place=True)
    tifffile.imwrite(folder / "deep.tif", art.astype(np.uint16) * 257)
    pillow_heif.from_pillow(image).save(folder / "a.heic", quality=80)
    return {
        "a.jpg": pictures.jpeg(art, exif=exif, icc_profile=profile),
        "progressive.jpg": pictures.jpeg(art, progressive=True),
        "a.png": pictures.saved(image, "PNG", icc_profile=profile),
        "a.webp": pictures.saved(image, "WEBP", exif=exif),
        "a.tif": pictures.saved(image, "TIFF", compression="tiff_lzw"),
        "jpeg.tif": pictures.saved(image, "TIFF", compression="jpeg"),
        "deep.tif": (folder / "deep.tif").read_bytes(),
        "a.psd": pictures.psd(art.transpose(2, 0, 1)),
        "a.heic": (folder / "a.heic").read_bytes(),
    }


def spoiled(body: bytes, seed: int) -> bytes:
    """Cut, flip, overwrite or repeat a part; the same seed gives the same damage."""
    rng = np.random.default_rng(seed)
    out = bytearray(body)
    kind = seed % 4
    at = int(rng.integers(4, len(out)))
    if kind == 0:
        return bytes(out[:at])
    if kind == 1:
        for place in rng.integers(4, len(out), 1 + seed % 9):
            out[place] ^= 1 << int(rng.integers(8))
    elif kind == 2:
        # Most structure lies in front: that is where large numbers hurt.
        near = int(rng.integers(4, min(400, len(out))))
        out[near : near + 4] = rng.bytes(4)
    else:
        out[at:at] = out[at // 2 : at // 2 + 64]
    return bytes(out)


def outcome(path: Path, *, keep: bool = False) -> str:
    try:
        done = develop(path, path.with_name("out.v"), filename=path.name, **SIZES)
    except BoardError as refused:
        return "refused" if refused.says else "refused without a word"
    pixels = developed_pixels(Path(done.path))
    sound = pixels.shape == (done.height, done.width, 3)
    if not keep:
        Path(done.path).unlink()
    return "developed" if sound else "half-written"


def main(folder: Path, many: int) -> None:
    """Spoil every sample in as many ways and count what became of it."""
    counts: dict[str, int] = {}
    odd: list[str] = []
    for name, body in samples(folder).items():
        for seed in range(many):
            path = pictures.put(folder, name, spoiled(body, seed))
            try:
                found = outcome(path)
            except Exception as error:
                found = f"{name} {seed}: {type(error).__name__} {error}"[:300]
            counts[found.split(" ")[0]] = counts.get(found.split(" ")[0], 0) + 1
            if found not in {"refused", "developed"}:
                odd.append(found)
    left = [path.name for path in folder.glob(".tmp-*")]
    json.dump({"counts": counts, "odd": odd, "left": left}, sys.stdout)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
