"""A laid picture's colours: within its trim, by its working copy."""

from pathlib import Path

import numpy as np
import pytest

from board.errors import NotFound
from board.imaging.colour import srgb_to_lab
from board.imaging.difference import delta_e_2000
from board.repro import store
from board.repro.colours import alike, colours_of, laid_colours
from board.repro.laying import lay
from board.repro.sheets import SheetSize, trimmed_matrix
from tests.repro import pictures

SHEET = SheetSize(100, 50, 3, 5)


def test_a_laid_picture_gives_its_colours_and_not_the_table_around(
    folder: Path, tmp_path: Path
) -> None:
    art = pictures.quarters(800, 400)
    with store.new_picture("colours-1") as fresh:
        lay(
            pictures.developed(tmp_path / "a.v", art),
            trimmed_matrix(800, 400),
            SHEET,
            fresh,
        )
    found = laid_colours("colours-1", SHEET, 4)
    assert [main.area for main in found.main] == pytest.approx([0.25] * 4, abs=0.02)
    true = srgb_to_lab(art[[0, 0, -1, -1], [0, -1, 0, -1]])
    for main in found.main:
        off = delta_e_2000(np.tile(np.array(main.lab, np.float32), (4, 1)), true)
        assert off.min() < 1
    assert {main.hex[:1] for main in found.main} == {"#"}
    assert alike(found, colours_of(art)) > 0.95


def test_what_is_kept_when_it_is_laid_is_what_is_reckoned_anew(
    folder: Path, tmp_path: Path
) -> None:
    art = pictures.quarters(800, 400)
    with store.new_picture("colours-2") as fresh:
        developed = pictures.developed(tmp_path / "a.v", art)
        lay(developed, trimmed_matrix(800, 400), SHEET, fresh)
    kept = laid_colours("colours-2", SHEET)
    (store.picture_folder("colours-2") / "colours.json").unlink()
    laid_colours.cache_clear()
    anew = laid_colours("colours-2", SHEET)
    assert (kept.main, kept.tones) == (anew.main, anew.tones)
    assert np.array_equal(kept.layout, anew.layout)


def test_a_picture_that_is_gone_says_so(folder: Path) -> None:
    with pytest.raises(NotFound):
        laid_colours("colours-never", SHEET)
