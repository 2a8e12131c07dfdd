"""Fingers on a phone of 320 px: pan, zoom, and marks by tapping."""

from collections.abc import Callable

import pytest
from playwright.sync_api import CDPSession, Page, expect

from tests.browser.conftest import House, Looker

pytestmark = pytest.mark.browser

LookIn = Callable[..., Looker]
Points = list[tuple[float, float]]
PHONE = {"viewport": {"width": 320, "height": 640}, "has_touch": True}
VIEW = """() => {
  const { viewport } = document.querySelector("board-picture").stand;
  const { x, y } = viewport.getCenter();
  return [viewport.getZoom(), x, y];
}"""


def touch(line: CDPSession, kind: str, points: Points) -> None:
    told = [{"x": x, "y": y, "id": index} for index, (x, y) in enumerate(points)]
    line.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": told})


def stroke(page: Page, line: CDPSession, begin: Points, end: Points) -> None:
    """Move one or two fingers from here to there in small steps."""
    touch(line, "touchStart", begin)
    for step in range(1, 11):
        share = step / 10
        now = [
            (x + (to_x - x) * share, y + (to_y - y) * share)
            for (x, y), (to_x, to_y) in zip(begin, end, strict=True)
        ]
        touch(line, "touchMove", now)
        page.wait_for_timeout(20)
    touch(line, "touchEnd", [])
    page.wait_for_timeout(600)


def test_fingers_pan_zoom_and_mark_at_320_pixels(house: House, looker: LookIn) -> None:
    who = looker("publisher", is_mobile=True, reduced_motion="reduce", **PHONE)
    page = who.into(house.url(f"/rooms/{house.hung}/"))
    expect(page.locator("board-picture[data-standing]")).to_be_visible()
    line = who.context.new_cdp_session(page)
    page.locator("board-picture").scroll_into_view_if_needed()
    box = page.locator("board-picture").bounding_box()
    assert box
    assert box["width"] <= 320
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    zoom, _, _ = page.evaluate(VIEW)
    stroke(page, line, [(x - 15, y), (x + 15, y)], [(x - 75, y), (x + 75, y)])
    closer, left, _ = page.evaluate(VIEW)
    assert closer > zoom * 1.8, "two fingers apart go closer"

    stroke(page, line, [(x + 60, y)], [(x - 40, y)])
    same, right, _ = page.evaluate(VIEW)
    assert same == pytest.approx(closer, rel=0.02)
    assert right > left, "one finger to the left shows what lies to the right"

    fold = page.locator("[data-new-note]")
    fold.locator("> summary").tap()
    fold.locator("[name=sort][value=comment]").check()
    fold.locator("textarea").fill("Two taps on a small phone.")
    fold.locator("[name=mark][value=box]").check()
    page.locator("board-picture").scroll_into_view_if_needed()
    box = page.locator("board-picture").bounding_box()
    assert box
    for share in (0.3, 0.6):
        page.touchscreen.tap(
            box["x"] + share * box["width"], box["y"] + share * box["height"]
        )
    points = fold.locator("[name=points]").input_value().split()
    assert len(points) == 2, points
    page.get_by_role("button", name="Pin the note").tap()
    row = page.locator(".note", has_text="Two taps on a small phone.")
    expect(row).to_have_attribute("data-points", " ".join(points))
