"""Press profiles: taken in, looked over in the darkroom, and used to try four inks.

References
----------
ICC.1:2022, header: size (0-3), class (12), colour space (16), connection space (20),
signature `acsp` (36). Separation and proof are relative colorimetric without black
point compensation, as `transicc -t1` and `tificc -m1 -t1` make them.
"""

import hashlib
import io
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageCms

from board.errors import NotUnderstood, TooLarge
from board.imaging.colour import Bytes, Floats, srgb_to_lab
from board.imaging.difference import delta_e_2000
from board.imaging.press import ink_sum
from board.repro import store

MOST_BYTES = 8 << 20
SMALLEST = 132
STAND_IN = "offset on coated paper (FOGRA39L), the profile that came with the board"
COATED = Path(__file__).with_name("coated.icc")
INTENT = ImageCms.Intent.RELATIVE_COLORIMETRIC
PROOF = ImageCms.Flags.SOFTPROOFING
# Without it a steep corner of a table is off by 2.5 per cent of an ink.
EXACT = ImageCms.Flags.NOOPTIMIZE
ALARM = ImageCms.Flags.SOFTPROOFING | ImageCms.Flags.GAMUTCHECK
BROKEN = (
    "This is no colour profile that can be used: {why}. Ask the printer for the ICC "
    "profile of the press and paper, and send that file as it is."
)
NOT_CMYK = (
    "This profile is for {space}, not for four inks. A printing condition needs the "
    "printer's CMYK profile."
)
SPACES = {b"RGB ": "screens or cameras (RGB)", b"GRAY": "grey", b"Lab ": "Lab"}


@dataclass(frozen=True)
class Inks:
    """What four inks make of colours, all arrays (n, ...) in step with the colours."""

    proof: Bytes
    out: Floats
    ink: Floats
    off: Floats


class Press:
    """A press profile made ready: separation, soft proof and gamut alarm."""

    def __init__(self, profile: bytes) -> None:
        """Build the three transforms; NotUnderstood when the profile cannot make them.

        Building takes about 0.7 s, a million colours 1.4 s.
        """
        require_header(profile)
        screen = ImageCms.createProfile("sRGB")
        try:
            press = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            self.name = ImageCms.getProfileDescription(press).strip()
            self._apart = ImageCms.buildTransform(
                screen, press, "RGB", "CMYK", INTENT, EXACT
            )
            self._proof, self._alarm = (
                ImageCms.buildProofTransform(
                    screen, screen, press, "RGB", "RGB", INTENT, INTENT, flags
                )
                for flags in (PROOF, ALARM)
            )
        except (OSError, ImageCms.PyCMSError, ValueError, TypeError) as cause:
            raise NotUnderstood(BROKEN.format(why="its tables are damaged")) from cause

    def separate(self, rgb: Bytes) -> Bytes:
        """Inks of colours: uint8 (n, 3) to uint8 (n, 4), 255 is 100 per cent."""
        return self._through(self._apart, rgb)

    def proof(self, rgb: Bytes) -> Bytes:
        """Colours as print would show them: uint8 (n, 3) to uint8 (n, 3)."""
        return self._through(self._proof, rgb)

    def out_of_gamut(self, rgb: Bytes) -> Floats:
        """1 where the press cannot reach a colour, else 0: uint8 (n, 3) to (n,).

        The alarm is a flat grey that Pillow cannot change, so the proof is made with
        and without it and what differs is out of reach.
        """
        alarmed = self._through(self._alarm, rgb) != self.proof(rgb)
        return np.asarray(alarmed.any(axis=-1), np.float32)

    def try_out(self, rgb: Bytes) -> Inks:
        """Everything at once for colours, uint8 (n, 3); `off` is dE00 of the proof."""
        proof = self.proof(rgb)
        out = (self._through(self._alarm, rgb) != proof).any(axis=-1)
        off = delta_e_2000(srgb_to_lab(rgb), srgb_to_lab(proof))
        return Inks(proof, out.astype(np.float32), ink_sum(self.separate(rgb)), off)

    @staticmethod
    def _through(transform: ImageCms.ImageCmsTransform, rgb: Bytes) -> Bytes:
        flat = np.ascontiguousarray(rgb.reshape(1, -1, 3))
        moved = ImageCms.applyTransform(Image.fromarray(flat), transform)
        if moved is None:
            raise NotUnderstood(BROKEN.format(why="it gives no colours"))
        return np.asarray(moved, np.uint8).reshape(len(flat[0]), -1)


def require_header(profile: bytes) -> None:
    """Raise NotUnderstood or TooLarge unless it is a profile for four inks."""
    if len(profile) > MOST_BYTES:
        raise TooLarge(
            f"The profile has {len(profile) / 1e6:.1f} MB; the board takes up to "
            f"{MOST_BYTES / 1e6:.0f} MB. A press profile has 0.5 to 3 MB."
        )
    if len(profile) < SMALLEST or profile[36:40] != b"acsp":
        raise NotUnderstood(BROKEN.format(why="it is another kind of file"))
    if int.from_bytes(profile[:4], "big") > len(profile):
        raise NotUnderstood(BROKEN.format(why="it breaks off before its end"))
    if profile[16:20] != b"CMYK":
        space = SPACES.get(profile[16:20], "another colour space")
        raise NotUnderstood(NOT_CMYK.format(space=space))
    if profile[12:16] != b"prtr":
        raise NotUnderstood(BROKEN.format(why="it is not the profile of an output"))


def read_profile(path: Path) -> str:
    """Give the name inside a press profile; it is opened and tried as a whole."""
    if path.stat().st_size > MOST_BYTES:
        require_header(bytes(MOST_BYTES + 1))
    press = Press(path.read_bytes())
    press.try_out(np.array([[255, 255, 255], [0, 0, 0], [242, 37, 140]], np.uint8))
    return press.name[:120]


def stand_in() -> bytes:
    """The press profile that came with the board, for first estimates only.

    References
    ----------
    Made from Fogra's characterisation data FOGRA39L (ISO 12647-2:2004/Amd 1, coated
    paper, zlib licence, in Debian's icc-profiles-free) with colprof 2.3.1 of Debian's
    argyll: `colprof -qm -bm -kr -l300 -nc`. Altered data, and no profile of Fogra's.
    """
    return COATED.read_bytes()


def profile_path(sha256: str) -> Path:
    """Give the place of a kept profile, there or not; it lies with the originals."""
    return store.original_path(sha256)


def keep_profile(body: bytes) -> tuple[str, str]:
    """Look a sent profile over in the darkroom and keep it.

    Returns
    -------
    Its SHA-256 and the name inside.

    Raises
    ------
    NotUnderstood, TooLarge, PictureRefused
        when it is not a sound CMYK output profile.
    """
    from board.repro.darkroom import MIB, Limits, run_limited  # noqa: PLC0415  # cycle

    require_header(body)
    store.require_room(len(body))
    sha256 = hashlib.sha256(body).hexdigest()
    with tempfile.TemporaryDirectory(dir=store.data_folder()) as folder:
        fresh = Path(folder) / "sent.icc"
        fresh.write_bytes(body)
        limits = Limits(memory=600 * MIB, cpu_s=15, wall_s=30, file=1 * MIB)
        name = run_limited("read_profile", {"path": str(fresh)}, limits)["name"]
        store.keep_original(fresh, sha256)
    return sha256, str(name)
