"""Every kind of picture the board takes comes out upright, sRGB, 8 bit, on white."""

import io
from pathlib import Path

import cv2
import numpy as np
import pillow_heif
import pytest
import pyvips
import tifffile
from PIL import Image, ImageCms, ImageOps

from board.errors import PictureRefused
from board.repro.developing import develop, develop_small
from board.repro.intake import (
    Developed,
    Pixels,
    developed_pixels,
    examine,
    working_copy,
)
from tests.repro import pictures
from tests.repro.pictures import put, quarters

SIZES = {"max_bytes": 50_000_000, "max_pixels": 40_000_000}


def dev(path: Path) -> tuple[Developed, Pixels]:
    done = develop(path, path.with_name("out.v"), filename=path.name, **SIZES)
    return done, np.array(developed_pixels(Path(done.path)))


def far(a: Pixels, b: Pixels) -> int:
    return int(np.abs(a.astype(np.int16) - b).max())


LOSSLESS = [("art.png", "PNG", {}), ("art.webp", "WEBP", {"lossless": True}),
            ("art.tif", "TIFF", {}), ("art.TIFF", "TIFF", {"compression": "tiff_lzw"})]  # fmt: skip


@pytest.mark.parametrize(("name", "kind", "save"), LOSSLESS)
def test_a_lossless_picture_is_developed_pixel_for_pixel(
    tmp_path: Path, name: str, kind: str, save: dict[str, object]
) -> None:
    art = pictures.painted(200, 120)
    path = put(tmp_path, name, pictures.saved(Image.fromarray(art), kind, **save))
    done, pixels = dev(path)
    assert (done.width, done.height) == (200, 120)
    assert far(pixels, art) == 0


def test_a_jpeg_is_developed_as_pillow_reads_it(tmp_path: Path) -> None:
    path = put(tmp_path, "art.jpg", pictures.jpeg(pictures.painted(200, 120)))
    assert far(dev(path)[1], np.asarray(Image.open(path))) <= 2


def test_a_heic_from_a_phone_is_taken(tmp_path: Path) -> None:
    path = tmp_path / "art.heic"
    pillow_heif.from_pillow(Image.fromarray(quarters())).save(path, quality=95)
    seen = examine(path, path.name, **SIZES)
    assert (seen.format, seen.width, seen.height) == ("HEIC", 240, 160)
    assert np.abs(dev(path)[1][20, 20].astype(int) - quarters()[20, 20]).max() <= 6


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_exif_orientation_comes_out_upright(
    tmp_path: Path, orientation: int
) -> None:
    """EXIF 2.3 tag 0x0112; Pillow's exif_transpose is the reference."""
    body = pictures.jpeg(quarters(), exif=pictures.exif(orientation=orientation))
    path = put(tmp_path, "art.jpg", body)
    upright = np.asarray(ImageOps.exif_transpose(Image.open(path)))
    done, pixels = dev(path)
    seen = examine(path, path.name, **SIZES)
    assert (seen.height, seen.width) == upright.shape[:2] == (done.height, done.width)
    assert seen.orientation == orientation
    assert far(pixels, upright) <= 2


def test_where_a_photograph_was_taken_stays_in_the_original(tmp_path: Path) -> None:
    body = pictures.jpeg(quarters(), exif=pictures.exif(place=True))
    assert b"2031:03:04" in body
    path = put(tmp_path, "art.jpg", body)
    left = Path(dev(path)[0].path).read_bytes()
    assert b"2031:03:04" not in left
    assert b"Exif" not in left
    assert b"exif" not in left


def test_sixteen_bits_are_rounded_to_eight_and_not_cut(tmp_path: Path) -> None:
    """65535 -> 255 and n * 257 -> n: v / 257 rounded (arithmetic, no source)."""
    deep = np.arange(0, 65536, 16, dtype=np.uint16).reshape(64, 64)
    wanted = np.rint(deep / 257).astype(np.uint8)
    rgb = np.stack([deep, deep.T, deep[::-1]], axis=-1)
    path = tmp_path / "deep.tif"
    tifffile.imwrite(path, rgb, photometric="rgb")
    assert examine(path, path.name, **SIZES).bits == 16
    assert far(dev(path)[1][..., 0], wanted) == 0
    tifffile.imwrite(path, deep, photometric="minisblack")
    assert far(dev(path)[1][..., 2], wanted) == 0


@pytest.mark.parametrize(
    ("extra", "wanted"),
    [
        ("unassalpha", (159, 143, 135)),  # 64 at 128/255 over white
        ("assocalpha", (191, 159, 143)),  # already multiplied: 64 + white * 127/255
        ("unspecified", (64, 32, 16)),  # a saved selection is not transparency
    ],
)
def test_alpha_lies_on_white_but_a_saved_selection_is_left_alone(
    tmp_path: Path, extra: str, wanted: tuple[int, int, int]
) -> None:
    """TIFF 6.0 section 18, ExtraSamples."""
    flat = np.empty((20, 20, 4), np.uint8)
    flat[...] = (64, 32, 16, 128)
    path = tmp_path / "alpha.tif"
    tifffile.imwrite(path, flat, photometric="rgb", extrasamples=[extra])
    assert np.abs(dev(path)[1][5, 5].astype(int) - wanted).max() <= 1


def test_a_see_through_png_lies_on_white(tmp_path: Path) -> None:
    clear = np.zeros((32, 32, 4), np.uint8)
    clear[:16] = (10, 200, 30, 255)
    path = put(tmp_path, "a.png", pictures.saved(Image.fromarray(clear), "PNG"))
    pixels = dev(path)[1]
    assert tuple(pixels[2, 2]) == (10, 200, 30)
    assert tuple(pixels[30, 2]) == (255, 255, 255)


def test_an_srgb_profile_leaves_every_pixel_alone(tmp_path: Path) -> None:
    art = pictures.painted(64, 64)
    body = pictures.saved(
        Image.fromarray(art), "PNG", icc_profile=pictures.srgb_profile()
    )
    assert far(dev(put(tmp_path, "a.png", body))[1], art) == 0


def _cmyk_profile() -> bytes:
    return bytes(pyvips.Operation.call("profile_load", "cmyk"))


def test_cmyk_with_a_profile_matches_littlecms(tmp_path: Path) -> None:
    """Reference: Pillow's own LittleCMS, relative colorimetric, black point on."""
    ink = np.zeros((40, 40, 4), np.uint8)
    ink[:20, :20], ink[:20, 20:] = (255, 0, 0, 0), (0, 255, 255, 0)
    ink[20:, :20], ink[20:, 20:] = (0, 0, 0, 255), (20, 60, 90, 10)
    image = Image.frombytes("CMYK", (40, 40), ink.tobytes())
    path = put(
        tmp_path, "a.tif", pictures.saved(image, "TIFF", icc_profile=_cmyk_profile())
    )
    by_pillow = ImageCms.profileToProfile(
        image,
        ImageCms.ImageCmsProfile(io.BytesIO(_cmyk_profile())),
        ImageCms.createProfile("sRGB"),
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
        outputMode="RGB",
        flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
    )
    done, pixels = dev(path)
    assert done.noted == ()
    assert far(pixels, np.asarray(by_pillow)) <= 3


def test_cmyk_without_a_profile_is_taken_with_a_word_about_it(tmp_path: Path) -> None:
    ink = np.zeros((40, 40, 4), np.uint8)
    ink[20:] = (0, 0, 0, 255)
    for name, kind in (("a.tif", "TIFF"), ("a.jpg", "JPEG")):
        image = Image.frombytes("CMYK", (40, 40), ink.tobytes())
        done, pixels = dev(put(tmp_path, name, pictures.saved(image, kind)))
        assert pixels[2, 2].min() > 245
        assert pixels[38, 2].max() < 60
        assert "CMYK without a profile" in done.noted[0]


def test_grey_becomes_three_equal_channels(tmp_path: Path) -> None:
    grey = quarters()[..., 1]
    path = put(tmp_path, "g.png", pictures.saved(Image.fromarray(grey), "PNG"))
    pixels = dev(path)[1]
    assert far(pixels[..., 0], grey) == 0
    assert far(pixels[..., 2], grey) == 0


def test_the_flattened_picture_of_a_psd_is_taken(tmp_path: Path) -> None:
    art = pictures.painted(60, 40)
    path = put(tmp_path, "a.psd", pictures.psd(art.transpose(2, 0, 1)))
    assert examine(path, path.name, **SIZES).format == "PSD"
    assert far(dev(path)[1], art) == 0


def test_a_psd_in_cmyk_shows_black_ink_as_black(tmp_path: Path) -> None:
    planes = np.full((4, 40, 40), 255, np.uint8)
    planes[3, 20:] = 0  # inverted: 0 is full ink
    pixels = dev(put(tmp_path, "a.psd", pictures.psd(planes, mode=4)))[1]
    assert pixels[2, 2].min() > 245
    assert pixels[38, 2].max() < 60


def test_a_psd_without_its_flattened_picture_is_refused_with_advice(
    tmp_path: Path,
) -> None:
    art = pictures.painted(60, 40).transpose(2, 0, 1)
    path = put(tmp_path, "a.psd", pictures.psd(art, merged=False))
    with pytest.raises(PictureRefused, match="compatibility"):
        examine(path, path.name, **SIZES)


def test_a_profile_that_does_not_fit_is_named_and_left_out(tmp_path: Path) -> None:
    body = pictures.jpeg(quarters(), icc_profile=_cmyk_profile())
    done, pixels = dev(put(tmp_path, "a.jpg", body))
    assert "could not be used" in done.noted[0]
    assert np.abs(pixels[20, 20].astype(int) - quarters()[20, 20]).max() <= 3


def test_a_working_copy_is_reduced_and_never_enlarged(tmp_path: Path) -> None:
    art = pictures.painted(900, 300)
    done, _ = dev(put(tmp_path, "a.png", pictures.saved(Image.fromarray(art), "PNG")))
    assert working_copy(Path(done.path), 300).shape == (100, 300, 3)
    assert working_copy(Path(done.path)).shape == (300, 900, 3)


def test_a_small_copy_made_at_once_shows_the_same_places(tmp_path: Path) -> None:
    art = cv2.GaussianBlur(pictures.painted(1711, 955), (0, 0), 4)
    image = Image.fromarray(art)
    body = pictures.saved(image, "PNG", exif=pictures.exif(orientation=6))
    path = put(tmp_path, "a.png", body)
    done, _ = dev(path)
    small, size = develop_small(path, 400, **SIZES)
    assert size == (done.width, done.height) == (955, 1711)
    by_disk = working_copy(Path(done.path), 400)
    assert small.shape == by_disk.shape == (400, 223, 3)
    assert far(small, by_disk) <= 4
    assert develop_small(path, 2000, **SIZES)[0].shape == (1711, 955, 3)


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "TIFF"])
def test_orientation_is_applied_in_every_kind_that_has_it(
    tmp_path: Path, kind: str
) -> None:
    """EXIF tag 0x0112 = 6: the picture must be turned a quarter to the right."""
    image = Image.fromarray(quarters())
    save: dict[str, object] = {"exif": pictures.exif(orientation=6)}
    if kind == "TIFF":
        save = {"tiffinfo": {274: 6}}
    if kind == "WEBP":
        save["lossless"] = True
    name = f"a.{kind.lower()}"
    path = put(tmp_path, name, pictures.saved(image, kind, **save))
    done, pixels = dev(path)
    assert (done.width, done.height) == (160, 240)
    assert far(pixels, np.rot90(quarters(), -1)) == 0


def test_a_turned_heic_comes_out_upright_and_without_its_place(tmp_path: Path) -> None:
    path = tmp_path / "a.heic"
    image = Image.fromarray(quarters())
    exif = pictures.exif(orientation=6, place=True)
    pillow_heif.from_pillow(image).save(path, quality=95, exif=exif)
    seen = examine(path, path.name, **SIZES)
    assert (seen.width, seen.height) == (160, 240)
    done, pixels = dev(path)
    upright = np.rot90(quarters(), -1)
    assert np.abs(pixels[::40, ::40].astype(int) - upright[::40, ::40]).mean() < 4
    assert b"2031:03:04" not in Path(done.path).read_bytes()


def test_a_wide_profile_is_converted_as_littlecms_does(tmp_path: Path) -> None:
    """Reference: Pillow's LittleCMS; the profile is the P3 one that libvips carries."""
    wide = bytes(pyvips.Operation.call("profile_load", "p3"))
    art = pictures.painted(120, 80)
    image = Image.fromarray(art)
    path = put(tmp_path, "a.png", pictures.saved(image, "PNG", icc_profile=wide))
    by_pillow = ImageCms.profileToProfile(
        image,
        ImageCms.ImageCmsProfile(io.BytesIO(wide)),
        ImageCms.createProfile("sRGB"),
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
        outputMode="RGB",
        flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
    )
    pixels = dev(path)[1]
    assert far(pixels, np.asarray(by_pillow)) <= 3
    assert far(pixels, art) > 10


def test_sixteen_bits_with_a_profile_and_alpha_are_all_seen_to(tmp_path: Path) -> None:
    wide = bytes(pyvips.Operation.call("profile_load", "p3"))
    flat = np.empty((32, 32, 4), np.uint16)
    flat[...] = (30_000, 20_000, 10_000, 32_768)
    path = tmp_path / "a.tif"
    tifffile.imwrite(
        path, flat, photometric="rgb", extrasamples=["unassalpha"], iccprofile=wide
    )
    done, pixels = dev(path)
    assert done.noted == ()
    opaque = tmp_path / "b.tif"
    tifffile.imwrite(opaque, flat[..., :3], photometric="rgb", iccprofile=wide)
    solid = dev(opaque)[1][5, 5].astype(float)
    on_white = solid * (32_768 / 65_535) + 255 * (1 - 32_768 / 65_535)
    assert np.abs(pixels[5, 5] - on_white).max() <= 1
