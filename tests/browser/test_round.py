"""A spread's whole round in a real browser: from the first sketch to its OK."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from fixtures.drawing import paint
from tests.browser.conftest import House, Looker

pytestmark = pytest.mark.browser

LookIn = Callable[..., Looker]
CANVAS = "board-picture .openseadragon-canvas"
LAID_WITHIN_MS = 90_000
TURN = "Turn her to us."
SHELF = "The shelf runs under the type."
BREAD = "Whose bread is it?"


@pytest.fixture(scope="module")
def sketches(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The same spread drawn twice, the second shot at another angle."""
    folder = tmp_path_factory.mktemp("sketches")
    paths = [folder / f"8-9_{name}.jpg" for name in ("sk1", "sk2")]
    for path in paths:
        paint("8-9", path.stem.split("_")[1], path)
    return paths


def send(page: Page, house: House, path: Path) -> None:
    """Upload into the folder and wait until it lies on the sheet."""
    page.goto(house.url(f"/pictures/books/{house.book}/send/?item={house.item}"))
    page.set_input_files("input[type=file]", path)
    page.get_by_role("button", name="Send", exact=True).click()
    expect(page.locator(".send-lines")).to_contain_text(path.name)
    folder = house.url(f"/pictures/items/{house.item}/folder/")
    expect(page.locator(".send-lines")).to_contain_text(
        "in the folder", ignore_case=True, timeout=LAID_WITHIN_MS
    )
    page.goto(folder)
    expect(page.get_by_role("button", name="Send up").first).to_be_visible(
        timeout=LAID_WITHIN_MS
    )


def send_up(page: Page) -> None:
    page.get_by_role("button", name="Send up").first.click()
    expect(page.locator("main")).to_contain_text("Sent up")


def into_room(who: Looker, house: House) -> Page:
    page = who.into(house.room)
    expect(page.locator("board-picture[data-standing]")).to_be_visible()
    return page


def begin_note(page: Page, sort: str, mark: str) -> None:
    fold = page.locator("[data-new-note]")
    if fold.get_attribute("open") is None:
        fold.locator("> summary").click()
    fold.locator(f"[name=sort][value={sort}]").check()
    fold.locator(f"[name=mark][value={mark}]").check()


def pin(page: Page, words: str) -> None:
    page.locator("[data-new-note] textarea").fill(words)
    page.get_by_role("button", name="Pin the note").click()
    expect(page.locator(".note", has_text=words)).to_be_visible()


def on_art(page: Page, x: float, y: float) -> tuple[float, float]:
    """A place on the screen, by fractions of the stand."""
    box = page.locator("board-picture").bounding_box()
    assert box
    return box["x"] + x * box["width"], box["y"] + y * box["height"]


def open_act(page: Page, words: str, act: str) -> None:
    page.locator(".note", has_text=words).get_by_role(
        "link", name=act, exact=True
    ).click()


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


def test_a_spread_goes_up_is_marked_comes_back_and_gets_its_ok(
    house: House, looker: LookIn, sketches: list[Path]
) -> None:
    artist, head = looker("illustrator"), looker("art_director")
    designer = looker("designer")
    editor = looker("editor", reduced_motion="reduce")

    send(artist.page, house, sketches[0])
    artist.see_no_violation()
    send_up(artist.page)

    dragged_note(head, house)
    clicked_note(designer, house)
    keyed_note(editor, house)
    place = issue_the_sheet(head)

    answer_every_line(artist, house)
    send(artist.page, house, sketches[1])
    send_up(artist.page)

    see_the_notes_in_place(head, house, place)
    # Without its worker, which would answer what the test holds back.
    lay_on_the_light_table(looker("art_director", service_workers="block"), house)

    close_and_initial(designer, house, SHELF, "fit")
    close_and_initial(editor, house, BREAD, "story")
    close_and_initial(head, house, TURN, "art")
    phone = {"viewport": {"width": 360, "height": 740}, "has_touch": True}
    author = looker("author", is_mobile=True, **phone)
    initial_by_phone(author, house)

    page = head.into(f"{house.room}daybook/")
    expect(page.locator("main")).to_contain_text("hung to OK")


def dragged_note(who: Looker, house: House) -> None:
    page = into_room(who, house)
    begin_note(page, "direction", "box")
    page.mouse.move(*on_art(page, 0.3, 0.3))
    page.mouse.down()
    page.mouse.move(*on_art(page, 0.36, 0.4), steps=4)
    page.mouse.move(*on_art(page, 0.42, 0.55), steps=4)
    page.mouse.up()
    pin(page, TURN)


def clicked_note(who: Looker, house: House) -> None:
    page = into_room(who, house)
    begin_note(page, "direction", "box")
    page.mouse.click(*on_art(page, 0.1, 0.15))
    page.mouse.click(*on_art(page, 0.25, 0.35))
    pin(page, SHELF)


def keyed_note(who: Looker, house: House) -> None:
    page = into_room(who, house)
    page.locator(CANVAS).focus()
    page.keyboard.press("m")
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowDown", "Enter"):
        page.keyboard.press(key)
    page.keyboard.press("Escape")
    page.locator("[data-new-note] [name=sort][value=query]").check()
    pin(page, BREAD)
    who.see_no_violation()


def issue_the_sheet(head: Looker) -> str:
    """Issue it from a page that heard of the others' notes by itself."""
    page = head.page
    expect(page.locator(".note", has_text=BREAD)).to_be_visible()
    place = page.locator(".note", has_text=TURN).get_attribute("data-points")
    assert place
    page.get_by_role("link", name="Issue the note sheet").click()
    press(page, "Issue it")
    expect(page.locator("[data-part=standing]")).to_contain_text("returned")
    return place


def answer_every_line(artist: Looker, house: House) -> None:
    page = into_room(artist, house)
    for words, said in ((TURN, ""), (SHELF, ""), (BREAD, "The goat's, by page 12.")):
        open_act(page, words, "answer")
        page.locator("[data-slot] [name=answer][value=done]").check()
        page.locator("[data-slot] textarea").fill(said)
        press(page, "Answer")
        expect(page.locator(".note", has_text=words)).to_contain_text("TOV: done")


def see_the_notes_in_place(head: Looker, house: House, place: str) -> None:
    """They lie where they were put; the old revision says it is superseded."""
    page = into_room(head, house)
    row = page.locator(".note", has_text=TURN)
    expect(row).to_contain_text("made on sketch, revision 1")
    assert row.get_attribute("data-points") == place
    assert page.locator(".tissue .pencil").count() >= 3
    chooser = page.locator("[data-part=chooser]")
    expect(chooser).to_contain_text("Laid by registration")
    page.get_by_role("link", name="sketch, revision 1").click()
    expect(page.locator("[data-part=band]")).to_contain_text("SUPERSEDED")


def press_before_the_scripts_came(head: Looker, house: House) -> Page:
    """What is pressed on a page whose scripts are still on the line is not lost."""
    waiting: list[Route] = []
    script = "**/js/light_table/table.*.js"
    head.page.route(script, lambda route: waiting.append(route))  # noqa: PLW0108 playwright looks into it
    with head.page.expect_request(script):
        page = head.into(f"{house.room}light-table/")
    side = page.get_by_role("button", name="side by side", exact=True)
    side.click()
    expect(side).not_to_have_attribute("aria-current", "true")
    for route in waiting:
        route.continue_()
    expect(side).to_have_attribute("aria-current", "true")
    page.unroute(script)
    return page


def lay_on_the_light_table(head: Looker, house: House) -> None:
    page = press_before_the_scripts_came(head, house)
    for view in ("slide", "lift", "side by side", "change map"):
        press(page, view)
        word = page.get_by_role("button", name=view, exact=True)
        expect(word).to_have_attribute("aria-current", "true")
    asked = page.get_by_role("button", name="Compare these two")
    if asked.is_visible():
        asked.click()
    expect(page.locator(".change").first).to_be_visible(timeout=LAID_WITHIN_MS)
    head.see_no_violation()


def initial_by_phone(author: Looker, house: House) -> None:
    page = into_room(author, house)
    author.see_no_violation()
    press(page, "Initial: OK")
    word = page.locator("[data-part=standing] .standing-word").first
    expect(word).to_have_text("OK")


def close_and_initial(who: Looker, house: House, words: str, facet: str) -> None:
    page = into_room(who, house)
    row = page.locator(".note-sheet .note", has_text=words)
    row.get_by_role("button", name="close", exact=True).click()
    expect(page.locator("#ended-notes .note", has_text=words)).to_have_count(1)
    press(page, "Initial: OK")
    expect(page.locator(f"#line-{facet} .initial-box").first).not_to_be_empty()
