"""A journey by keys alone, one by clicks alone, and what is seen in grey.

WCAG 2.2: 2.1.1 (keyboard), 2.4.7 (visible focus), 2.5.7 (no dragging needed).
"""

import io
from collections.abc import Callable

import pytest
from PIL import Image
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import DRAWN, House, Looker

pytestmark = pytest.mark.browser

LookIn = Callable[..., Looker]
CANVAS = ".openseadragon-canvas"
FORM = "[data-new-note]"


def hung_room(who: Looker, house: House) -> Page:
    page = who.into(house.url(f"/rooms/{house.hung}/"))
    expect(page.locator("board-picture[data-standing]")).to_be_visible()
    return page


def points_of(row: Locator) -> list[str]:
    return (row.get_attribute("data-points") or "").split()


def tab_to(page: Page, selector: str) -> None:
    """Press Tab until the keyboard is there, as a person would."""
    for _ in range(140):
        if page.locator(f"{selector}:focus").count():
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{selector} is not reached by Tab")


def keys(page: Page, *names: str) -> None:
    for name in names:
        page.keyboard.press(name)


def test_the_whole_way_by_keyboard_alone(house: House, looker: LookIn) -> None:
    who = looker("editor")
    page = who.into(house.url("/"))
    tab_to(page, 'main a[href^="/wall/"]')
    keys(page, "Enter")
    tab_to(page, f'main a[href^="/rooms/{house.hung}/"]')
    keys(page, "Enter")
    expect(page.locator("board-picture[data-standing]")).to_be_visible()

    tab_to(page, CANVAS)
    assert ring(page), "the picture shows that it has the keyboard"
    keys(page, "h")
    expect(page.locator("[data-notice]")).to_contain_text("In view: ")
    for key, look in (("s", "squint"), ("y", "grey"), ("f", "fold")):
        keys(page, key)
        button = page.locator(f'[data-see="{look}"]')
        expect(button).to_have_attribute("aria-pressed", "true")
    keys(page, "r")
    expect(page.locator("dialog.gauge")).to_be_visible()
    tab_to(page, "dialog [value=keep]")
    keys(page, "Enter")
    expect(page.locator("[data-scale]")).to_have_text("100 % of true size")
    keys(page, "w", "m", "Escape")
    write_by_keys(page)
    answer_by_keys(page)


def write_by_keys(page: Page) -> None:
    """A polygon of three corners, one of them moved, and its words."""
    page.keyboard.type("The hill by keys.")
    keys(page, "Shift+Tab", "Space")
    tab_to(page, f"{FORM} [name=mark]")
    keys(page, "ArrowRight", "ArrowRight", "ArrowRight")
    expect(page.locator(f"{FORM} [name=mark][value=polygon]")).to_be_checked()
    tab_to(page, f"{FORM} [data-draw]")
    keys(page, "Enter")
    expect(page.locator(CANVAS).first).to_be_focused()
    keys(
        page, "Enter", *["ArrowRight"] * 10, "Enter", *["ArrowDown"] * 10, "Enter", "k"
    )
    expect(page.locator(f"{FORM} [data-says]")).to_contain_text("closed")
    keys(page, "c", "Shift+ArrowLeft", "Enter", "Escape")
    tab_to(page, f"{FORM} button[type=submit]")
    keys(page, "Enter")
    row = page.locator(".note", has_text="The hill by keys.").first
    expect(row).to_have_attribute("data-mark", "polygon")
    assert len(points_of(row)) == 3


def answer_by_keys(page: Page) -> None:
    """Step to a note and reply to it."""
    page.locator(CANVAS).first.focus()
    keys(page, "n")
    expect(page.locator("[data-in-hand]")).not_to_be_empty()
    tab_to(page, ".note-acts a")
    keys(page, "Enter")
    expect(page.locator("[data-slot] textarea").first).to_be_focused()
    page.keyboard.type("Answered by keys.")
    tab_to(page, "[data-slot] button[type=submit]")
    keys(page, "Enter")
    expect(page.locator(".replies").first).to_contain_text("Answered by keys.")


def ring(page: Page) -> str:
    """What is drawn round the picture while it has the keyboard."""
    return str(
        page.evaluate(
            "getComputedStyle(document.querySelector('board-picture'), '::after')"
            ".outlineStyle.replace('none', '')"
        )
    )


def test_the_whole_way_by_clicks_alone(house: House, looker: LookIn) -> None:
    who = looker("designer")
    page = hung_room(who, house)
    row = write_by_clicks(page)
    slot = row.locator("[data-slot]")
    move_by_clicks(page, row, slot)

    page.locator("board-sieve [name=sort]").select_option("suggestion")
    expect(page.locator("[data-sifted]")).to_contain_text("note")
    expect(row).to_be_visible()
    page.locator("board-sieve [name=state]").select_option("ended")
    expect(row).to_be_hidden()
    page.locator("[data-all]").click()
    row.get_by_role("link", name="add a picture").click()
    slot.locator("input[type=file]").set_input_files(
        {"name": "heron.png", "mimeType": "image/png", "buffer": picture()}
    )
    slot.get_by_role("button", name="Add it").click()
    expect(row.locator(".note-picture")).to_be_visible()


def click(page: Page, x: float, y: float) -> None:
    page.evaluate(DRAWN)  # a page that scrolls takes a press where it last was drawn
    box = page.locator("board-picture").bounding_box()
    assert box
    page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])


def write_by_clicks(page: Page) -> Locator:
    """A polygon set corner by corner, one corner of it moved by two clicks."""
    page.locator(f"{FORM} > summary").click()
    page.locator(f"{FORM} [name=sort][value=suggestion]").check()
    page.locator(f"{FORM} [name=mark][value=polygon]").check()
    for x, y in ((0.3, 0.3), (0.5, 0.3), (0.5, 0.6), (0.3, 0.6)):
        click(page, x, y)
    page.locator("[data-mend=close]").click()
    says = page.locator(f"{FORM} [data-says]")
    expect(says).to_contain_text("The polygon is closed.")
    click(page, 0.3, 0.3)
    expect(says).to_contain_text("Corner 1 of 4 is in hand")
    click(page, 0.2, 0.2)
    page.locator(f"{FORM} textarea").fill("The hill by clicks.")
    page.get_by_role("button", name="Pin the note").click()
    row = page.locator(".note", has_text="The hill by clicks.").first
    expect(row).to_have_attribute("data-mark", "polygon")
    assert len(points_of(row)) == 4
    return row


def move_by_clicks(page: Page, row: Locator, slot: Locator) -> None:
    """The whole mark taken by its word and put by one click."""
    before = points_of(row)
    row.get_by_role("link", name="edit", exact=True).click()
    slot.get_by_role("button", name="Mark it on the picture").click()
    says = slot.locator("[data-says]")
    slot.locator("[data-mend=whole]").click()
    expect(says).to_contain_text("The whole mark is in hand")
    click(page, 0.6, 0.5)
    expect(says).not_to_contain_text("in hand")
    slot.get_by_role("button", name="Keep the changes").click()
    expect(row).to_contain_text("edited")
    after = points_of(row)
    assert len(after) == 4
    assert after != before
    shifts = {shift(one, other) for one, other in zip(before, after, strict=True)}
    assert len(shifts) == 1, "moved as a whole, its shape is kept"


def shift(one: str, other: str) -> tuple[float, float]:
    (x, y), (to_x, to_y) = (map(float, pair.split(",")) for pair in (one, other))
    return round(to_x - x, 3), round(to_y - y, 3)


def picture() -> bytes:
    """A small picture of a heron's colour."""
    file = io.BytesIO()
    Image.new("RGB", (60, 40), "#b9cbd0").save(file, "PNG")
    return file.getvalue()


def test_grey_keeps_each_colours_luminance(house: House, looker: LookIn) -> None:
    """By IEC 61966-2-1 (sRGB): Y of the picture's own pixels, within rounding."""
    page = hung_room(looker("production"), house)
    page.locator("[data-lift-tissue]").click()
    seen = [pixels(page)]
    page.locator("[data-see=grey]").click()
    seen.append(pixels(page))
    middle = [shot.getpixel((shot.width // 2, shot.height * 4 // 5)) for shot in seen]
    coloured, grey = (tuple(map(int, one)) for one in middle)  # type: ignore[arg-type]
    assert len(set(grey)) == 1
    assert len(set(coloured)) > 1
    assert abs(luminance(grey) - luminance(coloured)) < 0.012


def pixels(page: Page) -> Image.Image:
    page.wait_for_timeout(600)  # the picture fades in
    shot = page.locator("board-picture").screenshot()
    return Image.open(io.BytesIO(shot)).convert("RGB")


def luminance(rgb: tuple[int, ...]) -> float:
    linear = [
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in (channel / 255 for channel in rgb)
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
