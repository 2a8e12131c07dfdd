"""Pencils as eyes with a colour deficiency see them, and pencils without any colour.

Simulated after Machado, Oliveira and Fernandes, "A Physiologically-based Model for
Simulation of Color Vision Deficiency", IEEE TVCG 15 (2009), with the matrices that
colour-science carries, at full severity; differences by ISO/CIE 11664-6 (CIEDE2000),
contrast by WCAG 2.2.
Fifteen dE00 read at a glance (common practice, no source); for tritan eyes the model is
an approximation, as its authors say.
"""

import re
import warnings
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pytest

from accounts.rules import PENCIL_HUES, PENCIL_LINES
from board.books.models import Book
from board.books.queries import pencils
from board.imaging.colour import srgb_to_lab
from board.imaging.difference import delta_e_2000
from board.permits import Role
from tests import make

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

TOKENS = Path(__file__).parents[2] / "static" / "css" / "tokens.css"
LEAST = 15.0
KINDS = ("none", "Protanomaly", "Deuteranomaly", "Tritanomaly")


def tokens(name: str) -> list[list[np.ndarray]]:
    """Values of `--name-0` to the last, by day and, where there is one, by night."""
    found = re.findall(rf"--{name}-(\d): (#[0-9a-f]{{6}});", TOKENS.read_text())
    sets = [found[at : at + PENCIL_HUES] for at in range(0, len(found), PENCIL_HUES)]
    return [[rgb(value) for _, value in one] for one in sets]


def rgb(value: str) -> np.ndarray:
    return np.array([int(value[at : at + 2], 16) for at in (1, 3, 5)]) / 255


def seen(pencil: np.ndarray, kind: str) -> np.ndarray:
    """The same colour as such an eye sees it, sRGB in 0..255."""
    if kind == "none":
        return np.round(pencil * 255)
    linear = colour.cctf_decoding(pencil, function="sRGB")
    with warnings.catch_warnings():  # it says that tritan is an approximation
        warnings.simplefilter("ignore")
        matrix = colour.matrix_cvd_Machado2009(kind, 1.0)
    there = np.clip(matrix @ linear, 0, 1)
    return np.round(colour.cctf_encoding(there, function="sRGB") * 255)


def contrast(one: np.ndarray, other: np.ndarray) -> float:
    def light(value: np.ndarray) -> float:
        linear = colour.cctf_decoding(value, function="sRGB")
        return float(linear @ [0.2126, 0.7152, 0.0722])

    high, low = sorted((light(one), light(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("name", "night"), [("pencil", 0), ("pencil", 1), ("mark", 0)])
def test_any_two_hues_are_told_apart_by_every_eye(
    kind: str, name: str, night: int
) -> None:
    hues = tokens(name)[night]
    assert len(hues) == PENCIL_HUES
    labs = [
        srgb_to_lab(seen(hue, kind).astype(np.uint8).reshape(1, 1, 3)) for hue in hues
    ]
    for one, other in combinations(range(PENCIL_HUES), 2):
        away = float(delta_e_2000(labs[one], labs[other])[0, 0])
        assert away >= LEAST, f"{name} {one} and {other} as {kind}: {away:.1f} dE00"


def test_every_hue_reads_on_its_paper() -> None:
    papers = re.findall(r"--paper: (#[0-9a-f]{6});", TOKENS.read_text())
    for hues, paper in zip(tokens("pencil"), papers, strict=True):
        for hue in hues:
            assert contrast(hue, rgb(paper)) >= 4.5
    for hue in tokens("mark")[0]:
        assert contrast(hue, rgb("#ffffff")) >= 4.5, "against its white casing"


def test_nobody_on_a_book_shares_hue_and_line_and_a_full_cast_not_even_the_hue(
    book: Book,
) -> None:
    people = [make.person(name=f"Person {at}") for at in range(PENCIL_HUES)]
    for who in people:
        make.credit(on=book, who=who, role=Role.EDITOR)
    drawn = [pencils(book)[who.key] for who in people]
    assert len({one.hue for one in drawn}) == PENCIL_HUES
    assert all(one.line != other.line for one, other in pairwise(drawn))
    assert {one.line for one in drawn} == set(PENCIL_LINES)
    more = [make.person(name=f"Late {at}") for at in range(30)]
    for who in more:
        make.credit(on=book, who=who, role=Role.AUTHOR)
    pairs = [(one.hue, one.line) for one in pencils(book).values()]
    assert len(set(pairs)) == len(pairs)
