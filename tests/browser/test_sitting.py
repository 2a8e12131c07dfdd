"""A sitting on three screens: the chair's, a follower's and a late-comer's."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import House, Looker

pytestmark = pytest.mark.browser

LookIn = Callable[..., Looker]
CANVAS = "[data-stand] .openseadragon-canvas"
LAID = ".on-table[data-on-table='{}'] board-picture[data-standing]"


def plan_and_open(chair: Looker, house: House) -> str:
    """Plan a sitting on the two spreads and open it; its address."""
    page = plan(chair, house)
    page.get_by_role("button", name="Open the sitting").click()
    expect(page.locator("[data-follow-says]")).to_contain_text("You have the chair")
    return page.url


def plan(chair: Looker, house: House) -> Page:
    """Plan a sitting on the two spreads; the chair's page of it."""
    page = chair.into(house.url(f"/sittings/books/{house.book}/plan/"))
    page.get_by_label("In the time of").fill("Europe/Lisbon")
    for box in page.locator("[name=items]").all():
        box.uncheck()
    for key in (house.item, house.hung):
        page.locator(f"[name=items][value='{key}']").check()
    chair.see_no_violation()
    page.get_by_role("button", name="Plan the sitting").click()
    expect(page.locator("main")).to_contain_text("To talk about")
    chair.see_no_violation()
    return page


def laid(page: Page, item: str) -> None:
    expect(page.locator(LAID.format(item))).to_have_count(1)


def sees(page: Page) -> dict[str, float]:
    """The part of the sheet in this page's view."""
    found: dict[str, float] = page.evaluate(
        "document.querySelector('board-sitting').table.stand.seen()"
    )
    return found


def over(page: Page, x: float, y: float) -> tuple[float, float]:
    box = page.locator("[data-stand]").bounding_box()
    assert box
    return box["x"] + x * box["width"], box["y"] + y * box["height"]


def decide(page: Page, word: str, remark: str = "") -> None:
    page.locator(f"[name=word][value='{word}']").check()
    page.get_by_label("In a word, for the minutes").fill(remark)
    page.get_by_role("button", name="Write it down").click()


def test_three_screens_look_at_one_sheet_and_the_minutes_make_themselves(
    house: House, looker: LookIn
) -> None:
    chair, follower = looker("art_director"), looker("designer")
    address = plan_and_open(chair, house)
    laid(chair.page, house.hung)

    page = follower.into(address)
    laid(page, house.hung)
    expect(page.locator("[data-follow-says]")).to_contain_text("You follow HN")
    expect(page.locator("[data-seats]")).to_contain_text("HN")
    expect(chair.page.locator("[data-seats]")).to_contain_text("LA")

    lead(chair.page, page)
    late = looker("editor", viewport={"width": 900, "height": 700})
    come_late(late, address, house)
    break_away_and_come_back(page, chair.page)
    words = f"The hill is too flat, {address[-9:-1]}."
    pin_a_note(words, page, chair.page, late.page)
    chair.see_no_violation()

    decide(chair.page, "return", "Bring the moon in.")
    for screen in (chair.page, page, late.page):
        expect(screen.locator("[data-decisions]")).to_contain_text(
            "return, ruled by HN"
        )
        expect(
            screen.locator(f"[data-place='{house.hung}'] [data-decision]")
        ).to_have_text("return")
        expect(screen.locator("[data-counted]")).to_have_text(
            "1 return; 1 still to come."
        )

    chair.page.get_by_role("button", name="Close the sitting").click()
    for screen in (chair.page, page, late.page):
        expect(screen.locator("h1")).to_contain_text("Minutes of sitting")
        expect(screen.locator("main")).to_contain_text("Bring the moon in.")
        expect(screen.locator("main")).to_contain_text(words)
    chair.see_no_violation()


def same_view(page: Page, led: dict[str, float]) -> None:
    """The page comes to see what the chair sees."""
    seen = "document.querySelector('board-sitting').table.stand.seen()"
    page.wait_for_function(f"() => Math.abs({seen}.width - {led['width']}) < 0.03")


def lead(chair: Page, follower: Page) -> None:
    """The chair goes closer and points; the follower's screen goes along."""
    whole = sees(follower)
    chair.get_by_role("button", name="closer").click()
    chair.get_by_role("button", name="closer").click()
    chair.wait_for_timeout(900)
    led = sees(chair)
    assert led["width"] < 0.9 * whole["width"]
    same_view(follower, led)
    for step in range(6):
        chair.mouse.move(*over(chair, 0.4 + step * 0.02, 0.5))
        chair.wait_for_timeout(110)
    tip = follower.locator(".tips .tip")
    expect(tip).to_have_count(1)
    expect(tip).to_contain_text("HN")


def come_late(late: Looker, address: str, house: House) -> None:
    """Who comes late finds the sheet, the view and everybody there."""
    page = late.into(address)
    laid(page, house.hung)
    for initials in ("HN", "LA", "DC"):
        expect(page.locator("[data-seats]")).to_contain_text(initials)
    page.wait_for_function(
        "() => document.querySelector('board-sitting').table.stand.seen().width < 0.95"
    )


def break_away_and_come_back(page: Page, chair: Page) -> None:
    page.locator("button[data-look=whole]").click()
    expect(page.locator("[data-follow-says]")).to_contain_text("You look by yourself")
    expect(chair.locator("[data-seats] .is-apart")).to_have_text("LA")
    chair.get_by_role("button", name="closer").click()
    chair.wait_for_timeout(900)
    assert sees(page)["width"] > 0.9
    page.get_by_role("button", name="back to the chair").click()
    same_view(page, sees(chair))
    expect(chair.locator("[data-seats] .is-apart")).to_have_count(0)


def pin_a_note(words: str, page: Page, *others: Page) -> None:
    """A note appears on all screens as it is pinned, without a new page."""
    page.get_by_role("link", name="new note").click()
    form = page.locator("[data-slot='new-note'] form")
    form.locator("[name=sort][value=direction]").check()
    form.locator("textarea").fill(words)
    form.get_by_role("button", name=re.compile("Pin")).click()
    for screen in (page, *others):
        note = screen.locator("[data-notes] .note", has_text=words)
        expect(note).to_have_count(1)


def test_where_no_socket_gets_through_the_page_asks_and_says_so(
    house: House, looker: LookIn
) -> None:
    chair = looker("art_director")
    address = plan_and_open(chair, house)
    behind = looker("production")
    behind.expects = ("WebSocket",)
    behind.page.add_init_script(
        "window.WebSocket = class extends EventTarget { constructor() { super();"
        " setTimeout(() => this.dispatchEvent(new CloseEvent('close', {code: 1006})));"
        " } get readyState() { return 3; } close() {} };"
        "WebSocket.OPEN = 1; WebSocket.CLOSED = 3;"
    )
    page = behind.into(address)
    expect(page.locator("[data-line-says]")).to_contain_text("asks every 3 seconds")
    decide(chair.page, "hold", "Ask the printer.")
    expect(page.locator("[data-decisions]")).to_contain_text("hold, ruled by HN")
    chair.page.get_by_role("button", name="Close the sitting").click()
    expect(page.locator("h1")).to_contain_text("Minutes of sitting")


def test_who_waits_at_the_agenda_comes_to_the_table_when_it_is_laid(
    house: House, looker: LookIn
) -> None:
    chair, waits = looker("art_director"), looker("author")
    table = plan(chair, house)
    page = waits.into(table.url)
    expect(page.locator("[data-by-hand]")).to_be_hidden()
    waits.see_no_violation()
    table.get_by_role("button", name="Open the sitting").click()
    expect(page.locator("[data-follow-says]")).to_contain_text("You follow HN")
    chair.page.get_by_role("button", name="Close the sitting").click()
    expect(page.locator("h1")).to_contain_text("Minutes of sitting")
