"""Colours keep apart for every eye, and words stay readable on what they lie on.

Contrast: WCAG 2.2, 1.4.3 (4.5:1 for text) and 1.4.11 (3:1 for what must be seen).
How protan, deutan and tritan eyes see a colour: Machado, Oliveira and Fernandes 2009,
severity 1.0; their matrices are written here from memory.
"""

import itertools
import re

import numpy as np
import numpy.typing as npt
import pytest
from django.conf import settings

from board.imaging.colour import srgb_to_lab
from board.imaging.contrast import contrast_ratio
from board.imaging.difference import delta_e_2000

EYES = {
    "all": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
LEAST_APART = 15
Rgb = tuple[int, int, int]
TOKEN = re.compile(r"--([a-z0-9-]+): #([0-9a-f]{6});")


def tokens(scheme: str) -> dict[str, Rgb]:
    text = (settings.BASE_DIR / "static/css/tokens.css").read_text(encoding="utf-8")
    day, _, night = text.partition("@media screen and (prefers-color-scheme: dark)")
    found = dict(TOKEN.findall(day))
    if scheme == "dark":
        found |= dict(TOKEN.findall(night))
    return {name: tuple(bytes.fromhex(hexed)) for name, hexed in found.items()}  # type: ignore[misc]  # three bytes


def seen(colour: Rgb, eye: str) -> npt.NDArray[np.uint8]:
    """The colour as this eye sees it, 8-bit sRGB."""
    signal = np.array(colour) / 255
    light = np.where(
        signal <= 0.04045, signal / 12.92, ((signal + 0.055) / 1.055) ** 2.4
    )
    mixed = np.clip(EYES[eye] @ light, 0, 1)
    back = np.where(
        mixed <= 0.0031308, mixed * 12.92, 1.055 * mixed ** (1 / 2.4) - 0.055
    )
    return np.asarray(np.round(back * 255), dtype=np.uint8)


@pytest.mark.parametrize("eye", EYES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_eight_pencils_keep_apart(scheme: str, eye: str) -> None:
    found = tokens(scheme)
    pencils = [seen(found[f"pencil-{n}"], eye) for n in range(8)]
    labs = srgb_to_lab(np.array([pencils], dtype=np.uint8))[0]
    for one, other in itertools.combinations(range(8), 2):
        apart = delta_e_2000(labs[None, one : one + 1], labs[None, other : other + 1])
        assert float(np.squeeze(apart)) >= LEAST_APART, (scheme, eye, one, other)


TEXTS = [
    ("ink", "paper"),
    ("ink", "paper-raised"),
    ("ink-soft", "paper"),
    ("ink-soft", "paper-raised"),
    ("ink-soft", "manila"),
    ("link", "paper"),
    ("link", "paper-raised"),
    ("link-hover", "paper"),
    ("manila-ink", "manila"),
    ("button-ink", "button"),
    ("stop", "paper-raised"),
    ("stop", "manila"),
    ("ink", "stop-paper"),
    ("ink", "warn-paper"),
    ("ink", "clear-paper"),
    ("demo-ink", "demo"),
    ("surround-ink", "surround-light"),
    *[(f"pencil-{n}", "paper") for n in range(8)],
    *[(f"pencil-{n}", "paper-raised") for n in range(8)],
]
SHAPES = [
    ("focus", "paper"),
    ("focus", "manila"),
    ("rule-strong", "paper-raised"),
    ("line-of-wall", "surround-light"),
]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_are_readable_on_what_they_lie_on(scheme: str) -> None:
    found = tokens(scheme)
    faint = {
        pair: float(ratio)
        for pairs, least in ((TEXTS, 4.5), (SHAPES, 3.0))
        for pair in pairs
        if (ratio := contrast_ratio(found[pair[0]], found[pair[1]])) < least
    }
    assert not faint


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_art_lies_on_grey_without_any_colour(scheme: str) -> None:
    # a neutral surround: the practice of ISO 3664, viewing conditions
    found = tokens(scheme)
    for name in ("surround", "surround-light", "surround-dark", "sheet-edge"):
        assert len(set(found[name])) == 1, name
