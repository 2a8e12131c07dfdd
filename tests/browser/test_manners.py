"""How the room behaves when things are not as they should be."""

import io
import re
from collections.abc import Callable
from typing import Any, cast

import pypdf
import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import House, Looker

pytestmark = pytest.mark.browser

LookIn = Callable[..., Looker]
FORM = "[data-new-note]"
FORTY = """for (let wall = document.querySelector(".wall"), k = 0; wall.children.length < 40; k++)
  wall.append(wall.children[k].cloneNode(true))"""


def hung_room(who: Looker, house: House, *, scripts: bool = True) -> Page:
    page = who.into(house.url(f"/rooms/{house.hung}/"))
    if scripts:
        expect(page.locator("board-picture[data-standing]")).to_be_visible()
    return page


def test_without_scripts_a_note_is_read_written_by_numbers_and_answered(
    house: House, looker: LookIn
) -> None:
    who = looker("editor", java_script_enabled=False)
    page = hung_room(who, house, scripts=False)
    expect(page.locator(".picture-still")).to_be_visible()
    page.locator(f"{FORM} > summary").click()
    page.locator("[name=sort][value=comment]").check()
    page.locator(f"{FORM} textarea").fill("The moon by numbers.")
    page.locator("[name=mark][value=point]").check()
    page.locator(f"{FORM} details > summary").click()
    page.locator("[name=x]").fill("364")
    page.locator("[name=y]").fill("60")
    page.get_by_role("button", name="Pin the note").click()
    row = page.locator(".note", has_text="The moon by numbers.")
    expect(row).to_have_attribute("data-points", "0.71654,0.23622")
    # A comment asks nothing, so it lies among the ended ones.
    page.locator("#ended-notes > summary").click()
    row.get_by_role("link", name="reply", exact=True).click()
    page.locator("textarea").fill("And it is.")
    page.get_by_role("button", name="Reply", exact=True).click()
    expect(row).to_contain_text("And it is.")


def test_words_are_kept_when_the_session_ran_out_or_the_line_is_down(
    house: House, looker: LookIn
) -> None:
    who = looker("designer")
    who.expects = ("Failed to load", "ERR_", "WebSocket")
    page = hung_room(who, house)
    write(page, "Half a thought about type")
    page.route("**/notes/**", lambda route: route.abort())
    page.get_by_role("button", name="Pin the note").click()
    expect(page.locator("[data-notice]")).to_contain_text("It waits on this device")
    page.unroute("**/notes/**")
    row = page.locator(".note", has_text="Half a thought")
    expect(row).to_have_count(1, timeout=30_000)

    # A change waits for nobody: it needs the line, and its words stay in the form.
    whole = "A whole thought about type"
    row.get_by_role("link", name="edit", exact=True).click()
    row.locator("[data-slot] textarea").fill(whole)
    page.route("**/notes/**", lambda route: route.abort())
    page.get_by_role("button", name="Keep the changes").click()
    expect(page.locator("[data-notice]")).to_contain_text("press again")
    page.unroute("**/notes/**")
    kept = who.context.cookies()
    who.context.clear_cookies()
    page.get_by_role("button", name="Keep the changes").click()
    expect(page.locator("[data-notice]")).to_contain_text("Your words are kept")
    who.context.add_cookies(
        cast("Any", kept)
    )  # playwright gives one type, takes another
    page = hung_room(who, house)
    row.get_by_role("link", name="edit", exact=True).click()
    expect(row.locator("[data-slot] textarea")).to_have_value(whole)
    page.get_by_role("button", name="Keep the changes").click()
    expect(page.locator(".note", has_text=whole)).to_have_count(1)


def write(page: Page, words: str) -> None:
    page.locator(f"{FORM} > summary").click()
    page.locator("[name=sort][value=suggestion]").check()
    page.locator(f"{FORM} textarea").fill(words)


def test_the_art_goes_away_when_the_credit_ends(house: House, looker: LookIn) -> None:
    leaver = looker("production")
    leaver.expects = ("404", "Failed to load")
    page = hung_room(leaver, house)
    editor = looker("editor")
    people = editor.into(house.url(f"/books/{house.book}/people/"))
    people.get_by_role("link", name="End this credit of Gil Sorrel").click()
    people.locator("main form button").first.click()
    expect(page.locator("board-picture.is-blank")).to_have_count(1)
    expect(page.locator("[data-notice]")).to_contain_text("credit on this book")
    expect(page.locator(".note")).to_have_count(0)


@pytest.mark.parametrize(
    "look",
    [
        {"viewport": {"width": 320, "height": 640}},
        {"viewport": {"width": 820, "height": 1100}},
        {"viewport": {"width": 1440, "height": 900}, "color_scheme": "dark"},
        {"viewport": {"width": 1440, "height": 900}, "forced_colors": "active"},
    ],
)
def test_no_page_of_the_room_breaks_or_scrolls_sideways(
    house: House, looker: LookIn, look: dict[str, Any]
) -> None:
    who = looker("art_director", **look)
    for path in ("", "light-table/", "daybook/"):
        page = who.into(house.url(f"/rooms/{house.hung}/{path}"))
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= look["viewport"]["width"], path
        who.see_no_violation()


def test_a_note_is_made_found_and_answered_by_keyboard_alone(
    house: House, looker: LookIn
) -> None:
    who = looker("art_director")
    page = hung_room(who, house)
    tab_to(page, ".openseadragon-canvas")
    for key in ("m", "ArrowRight", "Enter", "Escape"):
        page.keyboard.press(key)
    page.keyboard.type("By keyboard alone.")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Space")
    tab_to(page, f"{FORM} button[type=submit]")
    page.keyboard.press("Enter")
    row = page.locator(".note", has_text="By keyboard alone.")
    expect(row).to_have_count(1)
    tab_to(page, ".openseadragon-canvas", back=True)
    page.keyboard.press("n")
    expect(page.locator("[data-in-hand]")).not_to_be_empty()


def test_somebody_elses_note_does_not_stop_who_is_typing(
    house: House, looker: LookIn
) -> None:
    head, other = looker("art_director"), looker("editor")
    page = hung_room(head, house)
    write(page, "The hill is steep.")
    page.get_by_role("button", name="Pin the note").click()
    row = page.locator(".note", has_text="The hill is steep.").first
    row.get_by_role("link", name="reply", exact=True).click()
    expect(page.locator("[data-slot] textarea")).to_be_focused()
    page.keyboard.type("Half a ")
    write(hung_room(other, house), "Meanwhile, elsewhere.")
    other.page.get_by_role("button", name="Pin the note").click()
    expect(page.locator(".note", has_text="Meanwhile, elsewhere.")).to_be_visible()
    page.keyboard.type("reply")
    expect(page.locator("[data-slot] textarea")).to_have_value("Half a reply")


def tab_to(page: Page, selector: str, *, back: bool = False) -> None:
    """Press Tab until the keyboard is there, as a person would."""
    for _ in range(80):
        if page.locator(f"{selector}:focus").count():
            return
        page.keyboard.press("Shift+Tab" if back else "Tab")
    raise AssertionError(f"{selector} is not reached by Tab")


def test_the_wall_prints_on_one_sheet_in_ink_on_paper(
    house: House, looker: LookIn
) -> None:
    who = looker("editor", color_scheme="dark")
    page = who.into(house.url(f"/wall/{house.book}/"))
    page.evaluate(FORTY)
    sheets = pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages
    assert len(sheets) == 1
    assert "page turn" in sheets[0].extract_text()
    page.emulate_media(media="print", color_scheme="dark")
    ink = page.evaluate("getComputedStyle(document.body).color")
    assert max(map(int, re.findall(r"\d+", ink))) < 80, (
        "dark words, whatever the screen"
    )


def test_scripts_that_a_broken_line_kept_away_come_when_it_is_back(
    house: House, looker: LookIn
) -> None:
    who = looker("editor", service_workers="block")
    who.expects = ("Failed to load", "ERR_", "WebSocket")
    page, script = who.page, "**/js/outbox/line.*.js"
    waiting: list[Route] = []
    page.route(script, lambda route: waiting.append(route))  # noqa: PLW0108 playwright looks into it
    with page.expect_request(script):
        page.goto(house.url(f"/rooms/{house.hung}/"))
    who.context.set_offline(True)
    waiting[0].abort()
    page.unroute(script)
    page.wait_for_timeout(500)
    assert page.locator("html[data-started]").count() == 0
    who.context.set_offline(False)
    page.locator("html[data-started]").wait_for()
