"""Every page door of the board for everybody who gets in, by axe and by its width.

A page is opened light and wide and then dark and narrow, or the other way round, so that
each is seen in both themes and at both sizes. For a further person it is opened again
if it holds for them any kind of element that was not on it before. WCAG 2.2: 1.4.4
(text at 200 %), 1.4.10 (reflow at 320 px); axe-core 4.14 for the rest.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

import pytest
from playwright.sync_api import Page, ViewportSize

from board.permits import Role
from tests.browser.conftest import DRAWN, House, Looker, board_with

pytestmark = pytest.mark.browser

LookIn = Callable[..., Looker]
Theme = Literal["light", "dark"]
EVERYBODY = ["nobody", "stranger", *(role.name.lower() for role in Role)]
NO_COOKIES: dict[str, Any] = {"cookies": [], "origins": []}
WIDE: ViewportSize = {"width": 1440, "height": 900}
NARROW: ViewportSize = {"width": 360, "height": 740}
NARROWEST: ViewportSize = {"width": 320, "height": 640}
LOOKS: tuple[tuple[Theme, Theme], ...] = (("light", "dark"), ("dark", "light"))
TAG = re.compile(r"<([a-z][a-z0-9-]*)([^>]*)")
KIND = re.compile(r'\b(class|type|role|disabled|open|hidden|aria-[a-z]+)(="[^"]*")?')
PAGES = 50
SHOWN = """[...document.querySelectorAll("[hidden]")]
  .filter((one) => getComputedStyle(one).display !== "none")
  .map((one) => one.outerHTML.slice(0, 120))"""


@dataclass
class Seen:
    """What was looked at so far: kinds of elements by door, and doors that are none."""

    kinds: dict[str, set[str]] = field(default_factory=dict)
    no_pages: set[str] = field(default_factory=set)
    opened: int = 0

    def is_new(self, door: str, html: str) -> bool:
        """Whether this page of a door holds a kind of element never seen on it."""
        there = set(kinds_in(html))
        before = self.kinds.setdefault(door, set())
        new = bool(there - before)
        before |= there
        self.opened += new
        return new


def kinds_in(html: str) -> Iterator[str]:
    """Elements of a page by name, class, kind and state, without their words."""
    for name, rest in TAG.findall(html):
        told = (
            key if key.startswith("aria-") else key + value
            for key, value in KIND.findall(rest)
        )
        yield " ".join([name, *sorted(told)])


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A board with one of everything that has an address."""
    folder = tmp_path_factory.mktemp("house")
    with board_with("tests.browser.one_of_everything", folder) as made:
        made.signed_in["nobody"] = NO_COOKIES
        yield made


@pytest.fixture(scope="module")
def seen() -> Seen:
    return Seen()


@pytest.mark.parametrize("who", EVERYBODY)
def test_no_page_fails_axe_breaks_at_320_px_or_with_text_twice_as_large(
    house: House, looker: LookIn, seen: Seen, who: str
) -> None:
    one = looker(who, viewport=WIDE, reduced_motion="reduce")
    one.expects = ("Failed to load resource",)
    one.context.set_extra_http_headers({"Accept": "text/html"})
    wrong: list[str] = []
    for path in pages_for(one, house, seen, who):
        wrong += look_at(one, house.url(path), LOOKS[seen.opened % 2])
    assert not wrong, "\n".join(wrong)


def test_every_page_was_found(seen: Seen) -> None:
    assert seen.opened == 0 or len(seen.kinds) >= PAGES, sorted(seen.kinds)


def pages_for(one: Looker, house: House, seen: Seen, who: str) -> Iterator[str]:
    """Addresses of pages that hold something not seen before."""
    for door in house.doors:
        path, status = door["path"], door["answers"][who]
        name = door["name"] if status == 200 else str(status)
        if status == 302 or path in seen.no_pages:
            continue
        if status != 200 and name in seen.kinds:
            continue
        answer = one.context.request.get(house.url(path), max_redirects=0)
        assert answer.status == status, f"{path}: {answer.status} instead of {status}"
        page = answer.headers["content-type"].startswith("text/html")
        html = answer.text() if page else ""
        if "<main" not in html:
            seen.no_pages.add(path)
        elif seen.is_new(name, html):
            yield path


def look_at(one: Looker, address: str, themes: tuple[Theme, Theme]) -> list[str]:
    """What is wrong with a page in two themes and sizes, narrower and enlarged."""
    page, wrong = one.page, []
    page.set_viewport_size(WIDE)
    page.emulate_media(color_scheme=themes[0])
    page.goto(address)
    wrong += [f"{address} shows what is hidden: {it}" for it in page.evaluate(SHOWN)]
    wrong += violations(one)
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    wrong += sideways(page, f"{address} at 200 % text")
    page.evaluate("document.documentElement.style.fontSize = ''")
    page.set_viewport_size(NARROW)
    page.emulate_media(color_scheme=themes[1])
    page.evaluate(DRAWN)
    wrong += violations(one)
    page.set_viewport_size(NARROWEST)
    wrong += sideways(page, f"{address} at 320 px")
    return wrong


def violations(one: Looker) -> list[str]:
    try:
        one.see_no_violation()
    except AssertionError as found:
        return [str(found)]
    return []


def sideways(page: Page, where: str) -> list[str]:
    wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    return [f"{where}: {wide} px too wide"] if wide > 1 else []
