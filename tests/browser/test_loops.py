"""A loop around torn paper and around a coat: by presses, by keys, in a real browser."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import DRAWN, House, Looker

pytestmark = pytest.mark.browser
LookIn = Callable[..., Looker]
CORNERS = ((0.2, 0.3), (0.4, 0.3), (0.3, 0.6))


def typed(page: Page) -> list[tuple[float, float]]:
    """The corners in the field, in per cent of the trim."""
    words = page.locator("[name=loop]").input_value().split()
    return [(float(x), float(y)) for x, y in (word.split(",") for word in words)]


def draw_with_presses(page: Page) -> None:
    page.get_by_role("button", name="Draw a loop").click()
    page.evaluate("scrollTo(0, 150)")
    page.evaluate(DRAWN)
    paper = page.locator("svg[data-trim] rect").first.bounding_box()
    assert paper
    for x, y in CORNERS:
        page.mouse.click(
            paper["x"] + x * paper["width"], paper["y"] + y * paper["height"]
        )


def draw_with_keys(page: Page) -> None:
    """From the cross's place: a corner, one to the right, one below."""
    page.get_by_role("button", name="Draw a loop").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    for key in ("ArrowRight", "ArrowDown"):
        for _ in range(6):
            page.keyboard.press(key)
        page.keyboard.press("Enter")


def entered(who: Looker, form: str, button: str, **fields: str) -> str:
    """Enter a thing by its form; its key, from the page that comes then."""
    page = who.into(form)
    for name, words in fields.items():
        page.locator(f"[name={name}]").fill(words)
    page.get_by_role("button", name=button).first.click()
    expect(page.locator("h1")).to_contain_text(list(fields.values())[-1])
    return page.url.rstrip("/").rpartition("/")[2]


def test_a_source_is_looped_by_presses(house: House, looker: LookIn) -> None:
    who = looker("illustrator", viewport={"width": 1440, "height": 900})
    form = house.url(f"/sources/book/{house.book}/new/")
    source = entered(who, form, "Enter it", code="C50", what="A tide table, torn")
    page = who.into(house.url(f"/sources/{source}/mark/{house.hung}/"))
    who.see_no_violation()
    draw_with_presses(page)
    for (x, y), (across, down) in zip(typed(page), CORNERS, strict=True):
        assert x == pytest.approx(100 * across, abs=0.5)
        assert y == pytest.approx(100 * down, abs=0.5)
    page.get_by_role("button", name="Take the last corner back").click()
    assert len(typed(page)) == 2
    page.locator("[name=loop]").fill("20,30 40,30 30,60")
    page.get_by_role("button", name="Mark it").click()
    # Half of 20 x 30 per cent of 508 x 254 mm.
    expect(page.get_by_text("38.7 cm²").first).to_be_visible()
    who.see_no_violation()


def test_a_followed_thing_is_looped_by_keys_on_a_phone(
    house: House, looker: LookIn
) -> None:
    who = looker("illustrator", viewport={"width": 360, "height": 740})
    form = house.url(f"/continuity/book/{house.book}/")
    thing = entered(who, form, "Follow it", name="Coat")
    page = who.into(house.url(f"/continuity/{thing}/on/{house.hung}/"))
    who.see_no_violation()
    draw_with_keys(page)
    first, second, third = typed(page)
    assert second[0] > first[0]
    assert second[1] == first[1]
    assert third[0] == second[0]
    assert third[1] > second[1]
    page.keyboard.press("Backspace")
    assert len(typed(page)) == 2
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Mark it").click()
    expect(page.get_by_text("dE00").first).to_be_visible()
    who.see_no_violation()
