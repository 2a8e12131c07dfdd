"""Makes the README's screens from the demo book.

    .venv/bin/python -m tests.browser.screens [FOLDER OF A LOADED DEMO]

Starts the demo as a newcomer would, comes in as the art director and keeps five pages
in fixtures/screens/.
"""

import io
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

HERE = Path(__file__).resolve().parents[2]
OUT = HERE / "fixtures" / "screens"
SIZE = {"width": 1440, "height": 900}
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
WAY_IN = re.compile(r"\(art director\)\s+(http\S+)")


def way_in(demo: "subprocess.Popen[str]") -> str:
    """Read what the demo prints until the art director's link comes."""
    assert demo.stdout is not None
    for line in demo.stdout:
        found = WAY_IN.search(line)
        if found:
            return found[1]
    raise SystemExit("The demo stopped before it printed a way in.")


def keep(page: Page, name: str) -> None:
    """Keep what the window shows as a small WebP."""
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(1500)
    picture = Image.open(io.BytesIO(page.screenshot()))
    picture.convert("RGB").save(OUT / f"{name}.webp", quality=80, method=6)


def shoot(browser: Browser, link: str) -> None:
    """Come in and keep the wall, words and pictures, the script, a room, a pair."""
    page = browser.new_page(viewport=SIZE)  # type: ignore[arg-type]  # a ViewportSize
    page.goto(link)
    page.locator("main form button").first.click()
    page.wait_for_load_state()
    page.locator('a[href^="/wall/"]').first.click()
    keep(page, "wall")
    page.get_by_role("link", name="Words and pictures").first.click()
    page.wait_for_load_state()
    page.locator(".track").nth(3).scroll_into_view_if_needed()
    keep(page, "words-and-pictures")
    page.get_by_role("link", name="Colour script").first.click()
    keep(page, "colour-script")
    page.get_by_role("link", name="Wall", exact=True).first.click()
    page.wait_for_load_state()
    page.get_by_role("link", name="8-9").first.click()
    keep(page, "room")
    page.get_by_role("link", name="Light table").first.click()
    keep(page, "light-table")


def main(folder: str) -> None:
    OUT.mkdir(parents=True, exist_ok=True)
    words = [sys.executable, "manage.py", "demo", "--folder", folder]
    demo = subprocess.Popen(words, cwd=HERE, stdout=subprocess.PIPE, text=True)
    try:
        link = way_in(demo)
        with sync_playwright() as driver:
            chromium = driver.chromium.launch(
                executable_path="/usr/bin/chromium", args=FLAGS
            )
            shoot(chromium, link)
            chromium.close()
    finally:
        demo.terminate()
        demo.wait(timeout=30)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp(prefix="screens-"))
