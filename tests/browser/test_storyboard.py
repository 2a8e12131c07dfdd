"""A storyboard sheet from its file to a mended cut, by mouse and by keys."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import House, Looker
from tests.revisions.storyboards import BODY

pytestmark = pytest.mark.browser
LookIn = Callable[..., Looker]


def test_a_sheet_is_sent_cut_and_mended(
    house: House, looker: LookIn, tmp_path: Path
) -> None:
    who = looker("illustrator", viewport={"width": 1440, "height": 900})
    page = who.into(house.url(f"/pictures/books/{house.book}/storyboards/"))
    file = tmp_path / "thumbnails.jpg"
    file.write_bytes(BODY)
    page.locator("input[type=file]").set_input_files(file)
    page.get_by_role("button", name="Send the sheet").click()
    link = page.get_by_role("link", name="Look at the cut of thumbnails.jpg")
    expect(link).to_be_visible(timeout=90_000)  # drawn when the worker is through
    link.click()
    expect(page.locator(".cut-row:visible")).to_have_count(12)
    who.see_no_violation()

    field = page.locator("[name=frame-0-x1]")
    before = float(field.input_value())
    handle = page.get_by_role("button", name="Frame 1, top left")
    handle.focus()
    page.keyboard.press("Shift+ArrowRight")
    assert float(field.input_value()) == pytest.approx(before + 1, abs=0.01)
    box = handle.bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 30, y, steps=4)
    page.mouse.up()
    assert float(field.input_value()) > before + 2

    page.get_by_role("button", name="Take away").click()
    expect(page.locator(".cut-row:visible")).to_have_count(11)
    page.get_by_role("button", name="Add a frame").click()
    art = page.locator(".cut-art").bounding_box()
    assert art
    for across, down in ((0.35, 0.25), (0.05, 0.08), (0.35, 0.08), (0.05, 0.25)):
        page.mouse.click(
            art["x"] + across * art["width"], art["y"] + down * art["height"]
        )
    expect(page.locator(".cut-row:visible")).to_have_count(12)
    page.get_by_role("button", name="Earlier").click()
    expect(page.locator(".cut-chosen")).to_have_text("Frame 11 of 12")
    page.get_by_role("button", name="Keep the cut for later").click()
    expect(page.get_by_text("is kept as it is now")).to_be_visible()
    assert float(page.locator("[name=frame-10-x1]").input_value()) == pytest.approx(
        5, abs=0.5
    )
    assert who.wrong == []
